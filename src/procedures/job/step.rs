//! A step of the guided job, and whether the engine stands as it says.

use super::blank::Blank;
use super::not_in::NotIn;
use crate::angle::{Clock, CrankAngle, CrankTurn};
use crate::description::job_steps as keys;
use crate::description::job_steps::JobStep;
use crate::description::{Distributor, Torque, Valve};
use crate::diagnosis::Revolution;
use crate::diagnosis::stage::Stage;
use crate::laws::ignition;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::looks_at::LooksAt;
use crate::procedures::witnesses::{FEWEST, Witness, witnesses};
use crate::words::{capitalised, cylinders as cylinders_in_words, degrees, joined, number};

/// How near the crank must stand to a dead centre: what a pulley mark can be read to, and a light
/// detent helps.
const DEAD_CENTRE_WITHIN_DEG: f64 = 1.0;

/// What is said of a step that no turning of the model can show to be right.
pub const BY_HAND: &str = "ticked by hand: the program cannot see this";

/// One step of the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The name it is kept under.
    pub key: String,
    /// What it is, in a few words.
    pub title: String,
    /// What to do.
    pub action: String,
    /// What must be seen when it is done.
    pub must_be_seen: Vec<String>,
    /// Another way to the same, where there is one.
    pub instead: Option<String>,
    /// What is measured and written down.
    pub write_down: Vec<Blank>,
    /// What could hurt someone or the engine: it is told before what to do.
    pub caution: Option<&'static str>,
    /// How its fasteners are tightened, where the builder's own step says so.
    pub tightening: Option<Tightening>,
    /// The stage of the build at which it comes.
    pub stage: Stage,
    /// Every stage at which it can be done.
    pub stages: &'static [Stage],
    /// Where the crank stands when it is right; 0 where it may stand anywhere.
    pub crank: CrankAngle,
    /// When it is right.
    pub right: Condition,
    /// What must be looked at, by name, before it is right: three of these, or all where there are
    /// fewer.
    pub witnesses: Vec<Witness>,
}

/// How a step's fasteners are tightened.
#[derive(Clone, Debug, PartialEq)]
pub struct Tightening {
    /// How tight.
    pub torque: Option<Torque>,
    /// The torques on the way there, in its unit; the last is the torque. Empty where it is one pass.
    pub passes: Vec<f64>,
    /// Degrees that each fastener is then turned on.
    pub angle_deg: Option<f64>,
    /// The fasteners as the builder numbered them, in the order in which they are tightened.
    pub sequence: Vec<u32>,
    /// Where they lie, row under row, by their numbers; 0 is a place without one. Empty where it is
    /// not said.
    pub rows: Vec<Vec<u32>>,
}

impl Tightening {
    /// Each pass in words, where there are several or the fasteners are turned on after the last:
    /// `10 N·m (7.4 lbf·ft, 88.5 lbf·in)`, `each 90° more`.
    pub fn in_passes(&self) -> Vec<String> {
        if self.passes.len() < 2 && self.angle_deg.is_none() {
            return Vec::new();
        }
        let torques = match self.torque {
            Some(torque) if self.passes.is_empty() => vec![torque],
            Some(torque) => {
                let passes = self.passes.iter();
                passes.map(|&pass| torque.of_as_much(pass)).collect()
            }
            None => Vec::new(),
        };
        let passes = torques.into_iter().map(torque_in_words);
        let turned_on = self.angle_deg;
        let turned_on = turned_on.map(|turn| format!("each {} more", degrees(turn)));
        passes.chain(turned_on).collect()
    }

    /// In words: `10, 18, then 25 N·m (18.4 lbf·ft, 221.3 lbf·in), then each 90° more; in the order
    /// 4, 1, 2, 3`.
    pub fn words(&self) -> String {
        let mut words = Vec::new();
        if let Some(torque) = self.torque {
            let (_, before) = self.passes.split_last().unwrap_or((&0.0, &[]));
            let before: Vec<String> = before.iter().map(|pass| number(*pass, 1)).collect();
            let passes = if before.is_empty() {
                String::new()
            } else {
                format!("{}, then ", before.join(", "))
            };
            words.push(format!("{passes}{}", torque_in_words(torque)));
        }
        words.extend(self.angle_deg.map(|turn| {
            let then = if self.torque.is_some() { "then " } else { "" };
            format!("{then}each {} more", degrees(turn))
        }));
        let mut words = words.join(", ");
        if !self.sequence.is_empty() {
            let order = format!("in the order {}", joined(&self.sequence, ", "));
            words = if words.is_empty() {
                order
            } else {
                format!("{words}; {order}")
            };
        }
        words
    }
}

/// A torque as it was written, and in the other units.
fn torque_in_words(torque: Torque) -> String {
    let [written, others @ ..] = torque
        .in_every_unit()
        .map(|torque| format!("{} {}", number(torque.value(), 1), torque.unit()));
    format!("{written} ({})", others.join(", "))
}

/// When a step is right.
#[derive(Clone, Debug, PartialEq)]
pub enum Condition {
    /// The marks meet: the crank here, and the camshaft on its own tooth.
    MarksMeet(CrankAngle),
    /// No. 1 at top dead centre: firing, or on overlap.
    NumberOneAt(DeadCentre),
    /// The crank here; a whole turn away too where `either_turn`.
    CrankAt {
        /// The place.
        at: CrankAngle,
        /// Whether either turn of the crank serves.
        either_turn: bool,
    },
    /// The crank at the top of a coil's cylinders, with that coil's leads on their plugs.
    CoilPlugged {
        /// The cylinders on the coil.
        cylinders: Vec<u8>,
        /// The top of the first of them.
        at: CrankAngle,
        /// Whether either turn of the crank serves.
        either_turn: bool,
    },
    /// The crank at No. 1 firing TDC and the geared shaft under the distributor in mesh as drawn.
    ShaftMeshed,
    /// The crank at No. 1 firing TDC and the rotor held here before its drive goes in.
    RotorHeld(Clock),
    /// The crank at No. 1 firing TDC, the drive seated and the rotor at No. 1's tower.
    RotorSeated(Clock),
    /// A whole turn by hand in the running direction, to No. 1's overlap.
    OneTurn,
    /// Two whole turns by hand in the running direction, back to No. 1 firing TDC with everything in
    /// its place.
    TwoTurns,
    /// The crank at a cylinder's firing TDC, with that cylinder's lead in the tower at the rotor.
    Lead {
        /// The cylinder.
        cylinder: u8,
        /// Its place in the firing order.
        tower_index: usize,
    },
    /// The crank where these valves are off their lobes with something to spare.
    ValvesFree {
        /// Intake valves, by cylinder.
        intake: Vec<u8>,
        /// Exhaust valves, by cylinder.
        exhaust: Vec<u8>,
        /// How far off its lobe each must be, on both sides.
        margin: CrankTurn,
    },
    /// Nothing that the model shows: the builder looks, and ticks it by hand.
    ByHand,
}

/// How the engine stands, beside what the phasing as built knows.
#[derive(Clone, Debug, PartialEq)]
pub struct EngineState {
    /// Where the crank stands.
    pub crank: CrankAngle,
    /// Where the rotor is held while the drive is out of the engine, looking down on the cap; None
    /// when it is seated.
    pub rotor_held: Option<Clock>,
    /// How far the crank has been turned by hand since this step was begun.
    pub turned: CrankTurn,
    /// Why that is counted anew, where it is.
    pub hurried: Option<Hurried>,
    /// The crank came here turning back: the drive's slack lies on the wrong side.
    pub slack_wrong: bool,
    /// What is not in yet.
    pub not_in: NotIn,
    /// The witnesses that were looked at with the crank where it stands, by name.
    pub looked_at: Vec<String>,
}

impl EngineState {
    /// A whole engine with its crank here, that has not been turned.
    pub fn at(crank: CrankAngle) -> Self {
        Self {
            crank,
            rotor_held: None,
            turned: CrankTurn::new(0.0),
            hurried: None,
            slack_wrong: false,
            not_in: NotIn::default(),
            looked_at: Vec::new(),
        }
    }
}

/// Why turning was not counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hurried {
    /// The crank was set to a place, and not turned there.
    Set,
    /// It was turned faster than a hand that feels for a bind.
    TooFast,
}

/// Whether a step is right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StepCheck {
    /// It is.
    Right,
    /// Not yet, and what is still wrong.
    NotYet(String),
}

impl StepCheck {
    /// Whether it is right.
    pub fn is_right(&self) -> bool {
        *self == Self::Right
    }
}

impl Step {
    /// A step that is ticked by hand, to be done at these stages, and coming at the first of them.
    pub(super) fn new(step: &JobStep, stages: &'static [Stage], action: impl Into<String>) -> Self {
        Self {
            key: step.key.to_owned(),
            title: step.title.to_owned(),
            action: action.into(),
            must_be_seen: Vec::new(),
            instead: None,
            write_down: Vec::new(),
            caution: None,
            tightening: None,
            stage: stages.first().copied().unwrap_or_default(),
            stages,
            crank: CrankAngle::new(0.0),
            right: Condition::ByHand,
            witnesses: Vec::new(),
        }
    }

    /// Whether it is ticked by hand, for the program cannot see it.
    pub fn is_by_hand(&self) -> bool {
        self.right == Condition::ByHand
    }

    /// The blank of that name.
    pub fn blank(&self, name: &str) -> Option<&Blank> {
        self.write_down.iter().find(|blank| blank.name == name)
    }

    /// Whether the engine stands as this step says; what is ticked by hand is for the builder to say.
    pub(super) fn check(&self, phasing: &Phasing, state: &EngineState) -> StepCheck {
        let not_in = if self.key == keys::CAM_IN.key {
            state.not_in.camshaft_out_of_its_bearings(phasing.engine())
        } else if self.is_by_hand() {
            None
        } else {
            state.not_in.camshaft(phasing.engine())
        };
        // The marks are brought together before the wheel is laid in.
        let crank_first = match &self.right {
            Condition::MarksMeet(at) if not_in.is_some() => {
                not_at(state.crank, nearest_turn(state.crank, *at, true))
            }
            _ => None,
        };
        let wrong = crank_first
            .or(not_in)
            .or_else(|| self.wrong(phasing, state));
        match wrong.or_else(|| self.looks_left(phasing, state)) {
            Some(wrong) => StepCheck::NotYet(wrong),
            None if state.slack_wrong && !self.is_by_hand() => StepCheck::NotYet(
                "The place is right, but the crank came to it turning back, and the slack lies on the wrong side. Go back well past it, \
                 and come up again in the running direction."
                    .into(),
            ),
            None => StepCheck::Right,
        }
    }

    /// What is still wrong, whichever way the crank came there; None where nothing is.
    fn wrong(&self, phasing: &Phasing, state: &EngineState) -> Option<String> {
        let not_at_firing_tdc =
            |number| wrong_dead_centre(phasing, state.crank, number, DeadCentre::FiringTdc);
        match &self.right {
            Condition::MarksMeet(at) => not_at(state.crank, *at).or_else(|| cam_out(phasing)),
            Condition::NumberOneAt(which) => wrong_dead_centre(phasing, state.crank, 1, *which),
            Condition::CrankAt { at, either_turn } => {
                not_at(state.crank, nearest_turn(state.crank, *at, *either_turn))
            }
            Condition::CoilPlugged {
                cylinders,
                at,
                either_turn,
            } => not_at(state.crank, nearest_turn(state.crank, *at, *either_turn))
                .or_else(|| coil_lead_off(cylinders, state))
                .or_else(|| coil_wrong(phasing, cylinders)),
            Condition::ShaftMeshed => not_at_firing_tdc(1)
                .or_else(|| shaft_out(state))
                .or_else(|| shaft_wrong(phasing)),
            Condition::RotorHeld(at) => {
                not_at_firing_tdc(1).or_else(|| held_wrong(phasing, *at, state))
            }
            Condition::RotorSeated(at) => {
                not_at_firing_tdc(1).or_else(|| seated_wrong(phasing, *at, state))
            }
            Condition::OneTurn => too_few_turns(state, 1)
                .or_else(|| distributor_out(state))
                .or_else(|| wrong_dead_centre(phasing, state.crank, 1, DeadCentre::OverlapTdc)),
            Condition::TwoTurns => too_few_turns(state, 2)
                .or_else(|| not_at_firing_tdc(1))
                .or_else(|| distributor_out(state))
                .or_else(|| cam_out(phasing)),
            Condition::Lead {
                cylinder,
                tower_index,
            } => not_at_firing_tdc(*cylinder)
                .or_else(|| distributor_out(state))
                .or_else(|| lead_wrong(phasing, *cylinder, *tower_index, state)),
            Condition::ValvesFree {
                intake,
                exhaust,
                margin,
            } => on_a_lobe(phasing, state.crank, *margin, intake, exhaust),
            Condition::ByHand => None,
        }
    }

    /// How many of its witnesses must be looked at.
    pub fn looks_needed(&self) -> usize {
        self.witnesses.len().min(FEWEST)
    }

    /// What is still to be looked at, or what a witness that was looked at shows otherwise than it
    /// must; None where neither is left.
    fn looks_left(&self, phasing: &Phasing, state: &EngineState) -> Option<String> {
        let needed = self.looks_needed();
        if needed == 0 {
            return None;
        }
        let looked = |name: &str| state.looked_at.iter().any(|looked| looked == name);
        let shows = witnesses(phasing, Stage::default(), &[]).here;
        let otherwise = shows
            .iter()
            .filter(|witness| looked(&witness.name))
            .find(|witness| witness.revolution != Some(Revolution::Firing));
        if let Some(witness) = otherwise {
            return Some(format!(
                "{} must show {}; here it shows {}.",
                capitalised(&witness.name),
                witness.firing,
                witness.now
            ));
        }
        let seen = self
            .witnesses
            .iter()
            .filter(|witness| looked(&witness.name));
        let seen = seen.count();
        (seen < needed).then(|| {
            format!("The crank stands right. Look at the witnesses, one by one: {seen} of {needed} looked at.")
        })
    }

    /// The part of the engine that it is about.
    pub fn looks_at(&self) -> LooksAt {
        let first = |intake: &[u8], exhaust: &[u8]| {
            intake.iter().chain(exhaust).copied().min().unwrap_or(1)
        };
        match &self.right {
            Condition::MarksMeet(_) => LooksAt::CamDrive,
            Condition::NumberOneAt(_) => LooksAt::Valves(1),
            Condition::CoilPlugged { cylinders, .. } => {
                LooksAt::Cylinder(cylinders.first().copied().unwrap_or(1))
            }
            Condition::ShaftMeshed | Condition::RotorSeated(_) => LooksAt::Drive,
            Condition::RotorHeld(_) | Condition::OneTurn | Condition::Lead { .. } => LooksAt::Cap,
            Condition::ValvesFree {
                intake, exhaust, ..
            } => LooksAt::Valves(first(intake, exhaust)),
            Condition::CrankAt { .. } => LooksAt::CrankMark,
            Condition::TwoTurns => LooksAt::Whole,
            Condition::ByHand => by_hand_at(&self.key),
        }
    }

    /// The place at which it is right, degrees: of the rotor looking down on the cap, or else of
    /// the crank.
    pub(super) fn place_deg(&self) -> f64 {
        match &self.right {
            Condition::RotorHeld(clock) | Condition::RotorSeated(clock) => clock.degrees(),
            _ => self.crank.degrees(),
        }
    }
}

/// The part that a step is about which the model cannot show to be right.
fn by_hand_at(key: &str) -> LooksAt {
    let is = |steps: &[JobStep]| steps.iter().any(|step| step.key == key);
    if is(&[
        keys::BEARINGS,
        keys::ROD_CAPS,
        keys::CRANK_TURNS,
        keys::TURNS_FREE,
    ]) {
        LooksAt::Crank
    } else if is(&[keys::CAM_WHEEL, keys::CAM_DOT, keys::COVER_ON]) {
        LooksAt::CamDrive
    } else if is(&[keys::CAM_IN, keys::CAM_END_PLAY]) {
        LooksAt::Camshaft
    } else if is(&[keys::TDC_STOP]) {
        LooksAt::Cylinder(1)
    } else if is(&[
        keys::HEADS_ON,
        keys::CAM_DEGREED,
        keys::CLEARANCE_DROP,
        keys::CLEARANCE_CLAY,
    ]) {
        LooksAt::Valves(1)
    } else if is(&[
        keys::THRUST_WASHERS,
        keys::PUMP_SLOT,
        keys::BODY_CLAMPED,
        keys::POINTS_GAP,
    ]) {
        LooksAt::Drive
    } else {
        LooksAt::Whole
    }
}

/// How far the crank is from where it should be, in words; None when it is there.
fn not_at(crank: CrankAngle, at: CrankAngle) -> Option<String> {
    let off = crank.nearest_to(at).degrees();
    if off.abs() <= DEAD_CENTRE_WITHIN_DEG {
        return None;
    }
    if off.abs() < 30.0 {
        let way = if off > 0.0 { "short of" } else { "past" };
        return Some(format!(
            "The crank stands {:.0}° {way} the place.",
            off.abs()
        ));
    }
    if (off.abs() - 360.0).abs() <= DEAD_CENTRE_WITHIN_DEG {
        return Some(
            "The crank's own mark is right, but the cam is half a turn away: turn one more turn."
                .into(),
        );
    }
    Some(format!(
        "Turn on in the running direction: {:.0}° to go.",
        crank.on_to(at).degrees()
    ))
}

/// The place, or where `either_turn` serves, the same place on the turn the crank stands on.
fn nearest_turn(crank: CrankAngle, at: CrankAngle, either_turn: bool) -> CrankAngle {
    let turn_away = crank.nearest_to(at).degrees().abs() > 180.0;
    if either_turn && turn_away {
        at + CrankTurn::new(360.0)
    } else {
        at
    }
}

/// The first of these cylinders whose plug does not get its sparks as drawn.
fn coil_wrong(phasing: &Phasing, cylinders: &[u8]) -> Option<String> {
    /// Far under what lies between the sparks of two coils.
    const SAME_DEG: f64 = 0.5;
    let drawn = Phasing::as_drawn(phasing.engine());
    let btdc = |phasing: &Phasing, number: u8| {
        phasing
            .cylinder(number)
            .map(|cylinder| phasing.spark_btdc_deg(cylinder))
    };
    let number = cylinders.iter().copied().find(|&number| {
        let sparks = btdc(phasing, number).zip(btdc(&drawn, number));
        sparks.is_none_or(|(built, drawn)| (built - drawn).abs() > SAME_DEG)
    })?;
    Some(format!(
        "No. {number}'s lead is on another coil: change it over."
    ))
}

/// How a geared shaft is out of mesh, in words.
fn shaft_wrong(phasing: &Phasing) -> Option<String> {
    let teeth = phasing.assembly().drive_teeth;
    (teeth != 0).then(|| {
        format!(
            "The shaft is in mesh {} {}: draw it, and mesh it that much {}.",
            count_teeth(teeth.unsigned_abs()),
            if teeth > 0 { "ahead" } else { "behind" },
            if teeth > 0 {
                "further back"
            } else {
                "further on"
            }
        )
    })
}

fn cam_out(phasing: &Phasing) -> Option<String> {
    let engine = phasing.engine();
    let stand = phasing.assembly().cams().out().map(|(camshaft, teeth)| {
        let cam = if engine.has_several_camshafts() {
            engine.camshaft_name(camshaft)
        } else {
            "cam"
        };
        let way = if teeth > 0 { "ahead of" } else { "behind" };
        let count = count_teeth(teeth.unsigned_abs());
        format!("The {cam}'s mark stands {count} {way} the crank's.")
    });
    let stand: Vec<String> = stand.collect();
    (!stand.is_empty()).then(|| {
        format!(
            "{} Take the cam drive apart and mesh it again.",
            stand.join(" ")
        )
    })
}

fn wrong_dead_centre(
    phasing: &Phasing,
    crank: CrankAngle,
    number: u8,
    wanted: DeadCentre,
) -> Option<String> {
    let cylinder = phasing.cylinder(number)?;
    let overlap = CrankTurn::new(if wanted == DeadCentre::OverlapTdc {
        360.0
    } else {
        0.0
    });
    let at = cylinder.fires + overlap;
    let turn_out = (crank.nearest_to(at).degrees().abs() - 360.0).abs() <= DEAD_CENTRE_WITHIN_DEG;
    match (turn_out, wanted) {
        (true, DeadCentre::FiringTdc) => Some(format!(
            "This is the other top dead centre: No. {number} is on overlap, both its valves rock as you turn to and fro. One more turn."
        )),
        (true, _) => Some(format!(
            "No. {number} is at top dead centre firing; overlap comes one turn further on."
        )),
        (false, _) => not_at(crank, at),
    }
}

fn distributor(phasing: &Phasing) -> Option<&Distributor> {
    phasing.engine().metric().distributor.as_ref()
}

fn held_wrong(phasing: &Phasing, at: Clock, state: &EngineState) -> Option<String> {
    let distributor = distributor(phasing)?;
    if let Some(out) = shaft_out(state) {
        return Some(out);
    }
    let Some(held) = state.rotor_held else {
        return Some(
            "Hold the distributor over its hole, its drive not in mesh, and turn its rotor.".into(),
        );
    };
    let past = held.past(at, distributor.rotation());
    // Nearer to the next tooth, it would seat on that.
    let half_way = 180.0 / f64::from(ignition::ways_to_engage(distributor));
    (past.abs() >= half_way.min(90.0)).then(|| {
        let way = if past > 0.0 { "ahead of" } else { "behind" };
        format!("The rotor is held {:.0}° {way} its start, in its own direction: the drive would take hold on another tooth.", past.abs())
    })
}

fn seated_wrong(phasing: &Phasing, at: Clock, state: &EngineState) -> Option<String> {
    let distributor = distributor(phasing)?;
    if let Some(out) = shaft_out(state) {
        return Some(out);
    }
    if state.rotor_held.is_some() {
        return Some("The drive is still out: let it down.".into());
    }
    if state.not_in.distributor {
        return Some(
            "The distributor is still out: hold it over its hole, and let its drive down.".into(),
        );
    }
    if distributor.is_on_geared_shaft() {
        // A shaft in mesh as drawn, and its tongue the right way about.
        return shaft_wrong(phasing).or_else(|| {
            phasing.assembly().tongue_half_turn.then(|| {
                "The tongue went home half a turn out. Lift the distributor off, turn its rotor half a turn, and let it down again."
                    .into()
            })
        });
    }
    let past = phasing
        .at(CrankAngle::new(0.0))
        .rotor?
        .clock
        .past(at, distributor.rotation());
    let tooth = ignition::rotor_tooth(distributor).degrees();
    if past.abs() < tooth / 2.0 {
        return None;
    }
    if 180.0 - past.abs() < tooth {
        return Some(
            "The drive went home half a turn out, as it does when it is let down with No. 1 on overlap. Lift it out, be sure of firing \
             TDC, and let it down again."
                .into(),
        );
    }
    let (way, teeth) = (
        if past > 0.0 { "ahead" } else { "behind" },
        (past.abs() / tooth).round() as u32,
    );
    Some(format!(
        "The drive went home {} {way}: the rotor stands {:.1}° off its place. Lift it out and hold the rotor that much {}.",
        count_teeth(teeth),
        past.abs(),
        if past > 0.0 {
            "further back"
        } else {
            "further on"
        }
    ))
}

/// How far is still to be turned by hand of so many whole turns; None where nothing is.
fn too_few_turns(state: &EngineState, turns: u32) -> Option<String> {
    let (turned, whole) = (state.turned.degrees(), 360.0 * f64::from(turns));
    if turned < -DEAD_CENTRE_WITHIN_DEG {
        return Some("Turn in the running direction, so that slack lies where it runs.".into());
    }
    if turned >= whole - DEAD_CENTRE_WITHIN_DEG {
        return None;
    }
    let anew = match state.hurried {
        Some(Hurried::Set) => {
            " Set to a place, the crank was not turned: drag its pulley, turn it with the mouse wheel or the arrow keys. It is counted \
             from here."
        }
        Some(Hurried::TooFast) => {
            " That was too fast: a hand that feels for a bind goes slowly. It is counted from here."
        }
        None => "",
    };
    let wanted = if turns == 1 {
        "one whole turn is"
    } else {
        "two whole turns are"
    };
    Some(format!(
        "{:.0}° turned by hand; {wanted} {whole:.0}°.{anew}",
        turned.max(0.0)
    ))
}

fn distributor_out(state: &EngineState) -> Option<String> {
    (state.not_in.distributor || state.rotor_held.is_some())
        .then(|| "The distributor is not in: let its drive down first.".into())
}

fn shaft_out(state: &EngineState) -> Option<String> {
    let out = state.not_in.shaft;
    out.then(|| "The shaft is out: hold it over its hole, turn it, and let it into mesh.".into())
}

/// The first lead of a coil that is on nothing yet.
fn coil_lead_off(cylinders: &[u8], state: &EngineState) -> Option<String> {
    let off = |number: &&u8| state.not_in.leads.contains(number);
    let off: Vec<u8> = cylinders.iter().filter(off).copied().collect();
    let (lead, is) = if off.len() == 1 {
        ("lead", "is")
    } else {
        ("leads", "are")
    };
    (!off.is_empty()).then(|| {
        format!(
            "The {lead} of {} {is} on nothing yet: plug in.",
            cylinders_in_words(&off)
        )
    })
}

fn lead_wrong(
    phasing: &Phasing,
    cylinder: u8,
    tower_index: usize,
    state: &EngineState,
) -> Option<String> {
    let plugged = *phasing.leads().get(tower_index)?;
    if state.not_in.leads.contains(&plugged) {
        let sits = phasing.leads().iter().position(|lead| *lead == cylinder);
        let sits = sits.filter(|_| !state.not_in.leads.contains(&cylinder));
        let sits = sits.and_then(|place| phasing.towers().get(place).copied());
        let pull = sits.map_or(String::new(), |tower| {
            format!(
                ", which is in the tower at {}: pull it off there",
                degrees(tower.degrees())
            )
        });
        return Some(format!(
            "The tower at the rotor is empty; it takes No. {cylinder}'s lead{pull}."
        ));
    }
    (plugged != cylinder).then(|| {
        format!("The tower at the rotor holds No. {plugged}'s lead; it takes No. {cylinder}'s.")
    })
}

/// The first of these valves that is on its lobe, or within the margin of it, at this crank angle.
fn on_a_lobe(
    phasing: &Phasing,
    crank: CrankAngle,
    margin: CrankTurn,
    intake: &[u8],
    exhaust: &[u8],
) -> Option<String> {
    // A degree less: the engine stands at a stop to within what a mark can be read to.
    let margin_deg = margin.degrees() - DEAD_CENTRE_WITHIN_DEG;
    let both = [(Valve::Intake, intake), (Valve::Exhaust, exhaust)];
    let mut valves = both
        .into_iter()
        .flat_map(|(valve, numbers)| numbers.iter().map(move |&number| (number, valve)));
    let (number, valve) = valves.find(|&(number, valve)| {
        phasing.cylinder(number).is_some_and(|cylinder| {
            let phase_deg =
                phasing.valve_phase_deg(cylinder, valve, phasing.phase_of(cylinder, crank));
            phasing.lobe(valve).off_lobe_deg(phase_deg) < margin_deg
        })
    })?;
    Some(format!(
        "No. {number}'s {} is on its lobe, or too near to it, at this crank angle. Turn on.",
        valve.word()
    ))
}

fn count_teeth(count: u32) -> String {
    match count {
        1 => "one tooth".into(),
        2 => "two teeth".into(),
        3 => "three teeth".into(),
        count => format!("{count} teeth"),
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::engine::Assembly;
    use crate::engine::Engine;
    use crate::engine::scenes;
    use crate::engine::scenes::SCENES;
    use crate::procedures::job::Job;
    use crate::procedures::{dropin, seat_drive};

    fn engine(name: &str) -> Arc<Engine> {
        scenes::find(name).expect("a built-in scene").engine()
    }

    /// How the builder stands when the step is right, with the crank brought there.
    fn state_for(step: &Step) -> EngineState {
        let rotor_held = match step.right {
            Condition::RotorHeld(clock) => Some(clock),
            _ => None,
        };
        EngineState {
            rotor_held,
            turned: CrankTurn::new(match step.right {
                Condition::TwoTurns => 720.0,
                Condition::OneTurn => 360.0,
                _ => 0.0,
            }),
            looked_at: step.witnesses.iter().map(|one| one.name.clone()).collect(),
            ..EngineState::at(step.crank)
        }
    }

    #[test]
    fn every_step_of_every_scene_is_right_at_its_own_place_and_not_a_quarter_turn_away() {
        for scene in &SCENES {
            let phasing = Phasing::as_drawn(&scene.engine());
            let job = Job::of(&phasing);
            let seen = job.steps.iter().filter(|step| !step.is_by_hand());
            assert!(seen.clone().count() >= 4, "{}", scene.name);
            for step in seen {
                let state = state_for(step);
                assert_eq!(
                    step.check(&phasing, &state),
                    StepCheck::Right,
                    "{}: {step:#?}",
                    scene.name
                );
                if !matches!(step.right, Condition::ValvesFree { .. }) {
                    for off in [90.0, 180.0, -3.0, 3.0] {
                        let elsewhere = EngineState {
                            crank: state.crank + CrankTurn::new(off),
                            ..state.clone()
                        };
                        assert!(
                            !step.check(&phasing, &elsewhere).is_right(),
                            "{}: {} at {off}",
                            scene.name,
                            step.key
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn no_place_counts_that_was_come_to_turning_back() {
        let phasing = Phasing::as_drawn(&engine("flat_four"));
        let job = Job::of(&phasing);
        for step in job.steps.iter().filter(|step| !step.is_by_hand()) {
            let back = EngineState {
                slack_wrong: true,
                ..state_for(step)
            };
            let StepCheck::NotYet(why) = step.check(&phasing, &back) else {
                panic!("{}", step.key)
            };
            assert!(why.contains("slack"), "{}: {why}", step.key);
        }
    }

    #[test]
    fn the_other_top_dead_centre_is_told_from_the_right_one() {
        for scene in &SCENES {
            let phasing = Phasing::as_drawn(&scene.engine());
            for step in Job::of(&phasing).steps.iter().filter(|step| {
                matches!(
                    step.right,
                    Condition::NumberOneAt(_) | Condition::Lead { .. }
                )
            }) {
                let state = EngineState {
                    crank: step.crank + CrankTurn::new(360.0),
                    ..state_for(step)
                };
                let StepCheck::NotYet(why) = step.check(&phasing, &state) else {
                    panic!("{}: {} a turn out", scene.name, step.key)
                };
                assert!(why.contains("overlap"), "{why}");
            }
        }
    }

    #[test]
    fn a_cam_a_tooth_out_fails_the_marks_and_the_two_turns() {
        let engine = engine("flat_four");
        let out = Phasing::as_built(
            &engine,
            &Assembly {
                cam_teeth: 1,
                ..Assembly::default()
            },
        );
        for key in ["marks-meet", "two-turns"] {
            let job = Job::of(&out);
            let step = job
                .steps
                .iter()
                .find(|step| step.key == key)
                .expect("the step");
            let StepCheck::NotYet(why) = step.check(&out, &state_for(step)) else {
                panic!("{key}")
            };
            assert!(why.contains("one tooth ahead"), "{why}");
        }
    }

    #[test]
    fn a_rotor_held_a_tooth_on_seats_a_tooth_ahead_and_the_step_says_so() {
        for name in ["bench_four", "helical_drop", "anticlockwise", "flat_four"] {
            let engine = engine(name);
            let drawn = Phasing::as_drawn(&engine);
            let distributor = engine.metric().distributor.as_ref().expect("a distributor");
            let tooth = ignition::rotor_tooth(distributor).degrees();
            let start = dropin(&drawn).expect("a distributor").rotor_start;
            for teeth in -2..=2 {
                let held = start.turned(distributor.rotation(), tooth * (f64::from(teeth) + 0.3));
                let drive_teeth = seat_drive(&drawn, CrankAngle::new(0.0), held)
                    .expect("a distributor")
                    .drive_teeth;
                assert_eq!(drive_teeth, teeth, "{name}");
                let built = Phasing::as_built(
                    &engine,
                    &Assembly {
                        drive_teeth,
                        ..Assembly::default()
                    },
                );
                let job = Job::of(&built);
                let step = job
                    .steps
                    .iter()
                    .find(|step| step.key == "rotor-home")
                    .expect("the step");
                assert_eq!(
                    step.check(&built, &state_for(step)).is_right(),
                    teeth == 0,
                    "{name} {teeth}"
                );
            }
        }
    }

    #[test]
    fn a_drive_seated_on_overlap_is_told_from_one_a_tooth_out() {
        let engine = engine("flat_four");
        let drawn = Phasing::as_drawn(&engine);
        let start = dropin(&drawn).expect("a distributor").rotor_start;
        let drive_teeth = seat_drive(&drawn, CrankAngle::new(360.0), start)
            .expect("a distributor")
            .drive_teeth;
        let built = Phasing::as_built(
            &engine,
            &Assembly {
                drive_teeth,
                ..Assembly::default()
            },
        );
        let job = Job::of(&built);
        let step = job
            .steps
            .iter()
            .find(|step| step.key == "rotor-home")
            .expect("the step");
        let StepCheck::NotYet(why) = step.check(&built, &state_for(step)) else {
            panic!("half a turn out")
        };
        assert!(why.contains("half a turn out"), "{why}");
    }

    #[test]
    fn a_helical_drive_starts_back_by_what_it_turns() {
        // 11 mm of travel at 45° on a pitch radius of 13 mm, left hand: 11/13 rad = 48.481°
        // anticlockwise. Lead = π d / tan(helix), SDP/SI Elements of Metric Gear Technology §7; the
        // figure worked by hand.
        let drawn = Phasing::as_drawn(&engine("helical_drop"));
        let end = drawn.at(CrankAngle::new(0.0)).rotor.expect("a rotor").clock;
        let start = dropin(&drawn).expect("a distributor").rotor_start;
        approx::assert_abs_diff_eq!(
            start.past(end, crate::angle::Direction::Clockwise),
            48.481,
            epsilon = 0.001
        );
    }

    #[test]
    fn two_turns_backwards_or_by_a_jump_to_the_end_do_not_count() {
        let phasing = Phasing::as_drawn(&engine("bench_four"));
        let job = Job::of(&phasing);
        let step = job
            .steps
            .iter()
            .find(|step| step.key == "two-turns")
            .expect("the step");
        for turned in [-720.0, 0.0, 360.0] {
            let state = EngineState {
                turned: CrankTurn::new(turned),
                ..state_for(step)
            };
            assert!(!step.check(&phasing, &state).is_right(), "{turned}");
        }
    }

    #[test]
    fn leads_plugged_one_round_are_seen_at_the_first_lead() {
        let engine = engine("bench_four");
        let built = Phasing::as_built(
            &engine,
            &Assembly {
                leads: Some(vec![3, 4, 2, 1]),
                ..Assembly::default()
            },
        );
        let job = Job::of(&built);
        let lead = job
            .steps
            .iter()
            .find(|step| step.key == "lead-1")
            .expect("the step");
        assert_eq!(
            lead.check(&built, &state_for(lead)),
            StepCheck::NotYet(
                "The tower at the rotor holds No. 3's lead; it takes No. 1's.".into()
            )
        );
    }

    #[test]
    fn an_engine_without_a_distributor_has_no_step_for_one() {
        let mut description = engine("bench_four").written().clone();
        description.distributor = None;
        let (engine, _) = Engine::new(description).expect("an engine");
        let job = Job::of(&Phasing::as_drawn(&engine));
        assert!(job.steps.iter().all(|step| !matches!(
            step.right,
            Condition::RotorHeld(_) | Condition::RotorSeated(_) | Condition::Lead { .. }
        )));
    }
}
