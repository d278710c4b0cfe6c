//! The guided job: the engine put together in order, each step right only at its own place.
//!
//! A [`Job`] is made from a [`Phasing`] as drawn. Each [`Step`] says what to do, what must be seen
//! and, where it applies, a caution. It is ticked only when the engine stands so: [`Step::verdict`]
//! asks the phasing as built, at the crank angle the builder has turned to, and answers what is
//! still wrong in words that can be acted on.
//!
//! How far the builder has come is a [`Progress`]: the steps done, each with the place at which it
//! was right. It is kept beside the engine's file (`flat_four.job.ron` for `flat_four.ron`). Where
//! the description has since moved that place, the step is open again.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

pub mod progress;
mod steps;
use crate::angle::{Clock, CrankAngle, CrankTurn};
use crate::description::Distributor;
use crate::engine::DescriptionFault;
use crate::laws::ignition;
use crate::phasing::{DeadCentre, Phasing};
use crate::source;
use crate::source::Finding;

/// How near the crank must stand to a dead centre: what a pulley mark can be read to, and a light
/// catch helps.
const DEAD_CENTRE_WITHIN_DEG: f64 = 1.0;

/// The whole job.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Its steps, in the order they are done.
    pub steps: Vec<Step>,
}

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
    /// What could hurt someone or the engine.
    pub caution: Option<&'static str>,
    /// Where the crank stands when it is right.
    pub crank: CrankAngle,
    /// When it is right.
    pub right: Condition,
}

/// When a step is right.
#[derive(Clone, Debug, PartialEq)]
pub enum Condition {
    /// The marks meet: the crank here, and the camshaft on its own tooth.
    MarksMeet(CrankAngle),
    /// No. 1 at top dead centre: firing, or on overlap.
    NumberOneAt(DeadCentre),
    /// The crank at No. 1 firing TDC and the rotor held here before its drive is let down.
    RotorHeld(Clock),
    /// The crank at No. 1 firing TDC, the drive home and the rotor at No. 1's tower.
    RotorHome(Clock),
    /// Two whole turns in the running direction, back to No. 1 firing TDC with everything in its
    /// place.
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
}

/// What the builder's hands have done, beside the phasing as built.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EngineState {
    /// Where the crank stands.
    pub crank: CrankAngle,
    /// Where the rotor is held while the drive is out of the engine, looking down on the cap; None
    /// when it is home.
    pub rotor_held: Option<Clock>,
    /// How far the crank has been turned since this step was begun.
    pub turned: CrankTurn,
    /// The crank came here turning back: the drive's slack lies on the wrong side.
    pub slack_wrong: bool,
}

/// Whether a step is right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StepCheck {
    /// It is.
    Condition,
    /// Not yet, and what is still wrong.
    NotYet(String),
}

impl StepCheck {
    /// Whether it is right.
    pub fn is_right(&self) -> bool {
        *self == Self::Condition
    }

    fn unless(wrong: Option<String>) -> Self {
        wrong.map_or(Self::Condition, Self::NotYet)
    }
}

impl Job {
    /// The job for an engine as drawn; how it was put together so far does not change what must be
    /// done.
    pub fn of(phasing: &Phasing) -> Self {
        Self {
            steps: steps::all(&Phasing::as_drawn(phasing.engine())),
        }
    }

    /// The first step that is not done; None when the job is.
    pub fn next_open(&self, progress: &Progress) -> Option<usize> {
        self.steps.iter().position(|step| !progress.has(step))
    }
}

impl Step {
    /// Whether the engine stands as this step asks.
    pub fn verdict(&self, phasing: &Phasing, stand: &EngineState) -> StepCheck {
        match self.stands(phasing, stand) {
            StepCheck::Condition if stand.slack_wrong => StepCheck::NotYet(
                "The place is right, but the crank came to it turning back, and the slack lies on the wrong side. Go back well past it, \
                 and come up again in the running direction."
                    .into(),
            ),
            verdict => verdict,
        }
    }

    /// The same, whichever way the crank came there.
    fn stands(&self, phasing: &Phasing, stand: &EngineState) -> StepCheck {
        match &self.right {
            Condition::MarksMeet(at) => {
                StepCheck::unless(not_at(stand.crank, *at).or_else(|| cam_out(phasing)))
            }
            Condition::NumberOneAt(which) => {
                StepCheck::unless(wrong_dead_centre(phasing, stand.crank, 1, *which))
            }
            Condition::RotorHeld(at) => StepCheck::unless(
                not_at_firing_tdc(phasing, stand.crank, 1)
                    .or_else(|| held_wrong(phasing, *at, stand)),
            ),
            Condition::RotorHome(at) => StepCheck::unless(
                not_at_firing_tdc(phasing, stand.crank, 1)
                    .or_else(|| home_wrong(phasing, *at, stand)),
            ),
            Condition::TwoTurns => StepCheck::unless(two_turns_wrong(phasing, stand)),
            Condition::Lead {
                cylinder,
                tower_index,
            } => StepCheck::unless(
                not_at_firing_tdc(phasing, stand.crank, *cylinder)
                    .or_else(|| lead_wrong(phasing, *cylinder, *tower_index)),
            ),
            Condition::ValvesFree {
                intake,
                exhaust,
                margin,
                ..
            } => StepCheck::unless(
                on_a_lobe(phasing, stand.crank, *margin, intake, exhaust).map(|which| {
                    format!(
                        "{which} is on its lobe, or too near to it, at this crank angle. Turn on."
                    )
                }),
            ),
        }
    }

    /// The place at which it is right, degrees: of the rotor looking down on the cap, or else of
    /// the crank.
    pub fn place_deg(&self) -> f64 {
        match &self.right {
            Condition::RotorHeld(clock) | Condition::RotorHome(clock) => clock.degrees(),
            _ => self.crank.degrees(),
        }
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

fn cam_out(phasing: &Phasing) -> Option<String> {
    let teeth = phasing.assembly().cam_teeth;
    (teeth != 0).then(|| {
        let way = if teeth > 0 { "ahead of" } else { "behind" };
        format!(
            "The cam's mark stands {} {way} the crank's. Take the cam drive apart and mesh it again.",
            count(teeth.unsigned_abs(), "tooth", "teeth")
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

fn not_at_firing_tdc(phasing: &Phasing, crank: CrankAngle, number: u8) -> Option<String> {
    wrong_dead_centre(phasing, crank, number, DeadCentre::FiringTdc)
}

fn distributor(phasing: &Phasing) -> Option<&Distributor> {
    phasing.engine().metric().distributor.as_ref()
}

fn held_wrong(phasing: &Phasing, at: Clock, stand: &EngineState) -> Option<String> {
    let distributor = distributor(phasing)?;
    let Some(held) = stand.rotor_held else {
        return Some("Lift the distributor out and hold its rotor over the hole.".into());
    };
    let past = held.past(at, distributor.rotation);
    // Nearer to the next tooth, it would go home on that.
    let half_way = 180.0 / f64::from(ignition::ways_to_engage(distributor));
    (past.abs() >= half_way.min(90.0)).then(|| {
        let way = if past > 0.0 { "ahead of" } else { "behind" };
        format!("The rotor is held {:.0}° {way} its start, in its own direction: the drive would take hold on another tooth.", past.abs())
    })
}

fn home_wrong(phasing: &Phasing, at: Clock, stand: &EngineState) -> Option<String> {
    let distributor = distributor(phasing)?;
    if stand.rotor_held.is_some() {
        return Some("The drive is still out: let it down.".into());
    }
    let past = phasing
        .at(CrankAngle::new(0.0))
        .rotor?
        .clock
        .past(at, distributor.rotation);
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
        count(teeth, "tooth", "teeth"),
        past.abs(),
        if past > 0.0 {
            "further back"
        } else {
            "further on"
        }
    ))
}

fn two_turns_wrong(phasing: &Phasing, stand: &EngineState) -> Option<String> {
    let turned = stand.turned.degrees();
    if turned < -DEAD_CENTRE_WITHIN_DEG {
        return Some("Turn in the running direction, so that slack lies where it runs.".into());
    }
    if turned < 720.0 - DEAD_CENTRE_WITHIN_DEG {
        return Some(format!(
            "{:.0}° turned; two whole turns are 720°.",
            turned.max(0.0)
        ));
    }
    not_at_firing_tdc(phasing, stand.crank, 1).or_else(|| cam_out(phasing))
}

fn lead_wrong(phasing: &Phasing, cylinder: u8, tower_index: usize) -> Option<String> {
    let plugged = *phasing.leads().get(tower_index)?;
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
    let near = |number: u8, lobe: &crate::laws::Lobe| {
        let cylinder = phasing.cylinder(number)?;
        let phase = phasing.valve_phase_deg(phasing.phase_of(cylinder, crank));
        let off = CrankAngle::new(phase)
            .nearest_to(CrankAngle::new(lobe.centre_deg()))
            .degrees()
            .abs();
        // A degree of grace: the engine stands at a stop to within what a mark can be read to.
        (off < lobe.seat_duration_deg() / 2.0 + margin.degrees() - DEAD_CENTRE_WITHIN_DEG)
            .then_some(number)
    };
    let intake = intake.iter().find_map(|&number| {
        near(number, phasing.intake()).map(|number| format!("No. {number}'s intake"))
    });
    intake.or_else(|| {
        exhaust.iter().find_map(|&number| {
            near(number, phasing.exhaust()).map(|number| format!("No. {number}'s exhaust"))
        })
    })
}

fn count(number: u32, one: &str, more: &str) -> String {
    match number {
        1 => format!("one {one}"),
        2 => format!("two {more}"),
        3 => format!("three {more}"),
        number => format!("{number} {more}"),
    }
}

/// How far the builder has come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Progress {
    /// The version of this format: 1.
    pub format: u32,
    /// The engine it belongs to.
    pub engine: String,
    /// The steps done.
    #[serde(default)]
    pub done: Vec<Done>,
}

/// A step done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Done {
    /// The step's key.
    pub step: String,
    /// The place at which it was right, degrees.
    pub at: f64,
}

impl Progress {
    /// Nothing done yet.
    pub fn none(engine: &str) -> Self {
        Self {
            format: 1,
            engine: engine.to_owned(),
            done: Vec::new(),
        }
    }

    /// Whether a step is done, at the place where it still belongs.
    pub fn has(&self, step: &Step) -> bool {
        self.done
            .iter()
            .any(|done| done.step == step.key && (done.at - step.place_deg()).abs() < 1e-3)
    }

    /// Ticks a step off.
    pub fn tick(&mut self, step: &Step) {
        self.open(step);
        self.done.push(Done {
            step: step.key.clone(),
            at: step.place_deg(),
        });
    }

    /// Takes a tick back.
    pub fn open(&mut self, step: &Step) {
        self.done.retain(|done| done.step != step.key);
    }

    /// Where the progress of an engine's file is kept.
    pub fn beside(engine: &Path) -> PathBuf {
        engine.with_extension("job.ron")
    }

    /// Reads it.
    ///
    /// # Errors
    /// With what is wrong with the text.
    pub fn read(text: &str) -> Result<Self, Vec<Finding>> {
        match source::ron::<Self>(text) {
            (Some(progress), findings) if findings.is_empty() && progress.format == 1 => {
                Ok(progress)
            }
            (Some(progress), findings) if findings.is_empty() => Err(vec![
                Finding::error(DescriptionFault::OutOfRange, "format")
                    .message(format!("`format` is {}; 1 is allowed", progress.format))
                    .why("another version of this program wrote it")
                    .mend("begin the job again, or open it with the program that wrote it"),
            ]),
            (_, findings) => Err(findings),
        }
    }

    /// Writes it.
    ///
    /// # Errors
    /// Where it cannot be written as RON.
    pub fn write(&self) -> Result<String, ron::Error> {
        source::options()
            .to_string_pretty(
                self,
                ron::ser::PrettyConfig::new()
                    .depth_limit(2)
                    .struct_names(false),
            )
            .map(|text| text + "\n")
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
    use crate::procedures::{dropin, seat_drive};

    fn engine(name: &str) -> Arc<Engine> {
        scenes::find(name).expect("a built-in scene").engine()
    }

    /// How the builder stands when the step is right, with the crank brought there.
    fn stand_for(step: &Step) -> EngineState {
        let rotor_held = match step.right {
            Condition::RotorHeld(clock) => Some(clock),
            _ => None,
        };
        EngineState {
            crank: step.crank,
            rotor_held,
            turned: CrankTurn::new(if step.right == Condition::TwoTurns {
                720.0
            } else {
                0.0
            }),
            slack_wrong: false,
        }
    }

    #[test]
    fn every_step_of_every_scene_is_right_at_its_own_place_and_not_a_quarter_turn_away() {
        for scene in &SCENES {
            let phasing = Phasing::as_drawn(&scene.engine());
            let job = Job::of(&phasing);
            assert!(job.steps.len() >= 4, "{}", scene.name);
            for step in &job.steps {
                let stand = stand_for(step);
                assert_eq!(
                    step.verdict(&phasing, &stand),
                    StepCheck::Condition,
                    "{}: {step:#?}",
                    scene.name
                );
                if !matches!(step.right, Condition::ValvesFree { .. }) {
                    for off in [90.0, 180.0, -3.0, 3.0] {
                        let elsewhere = EngineState {
                            crank: stand.crank + CrankTurn::new(off),
                            ..stand
                        };
                        assert!(
                            !step.verdict(&phasing, &elsewhere).is_right(),
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
        for step in &Job::of(&phasing).steps {
            let back = EngineState {
                slack_wrong: true,
                ..stand_for(step)
            };
            let StepCheck::NotYet(why) = step.verdict(&phasing, &back) else {
                panic!("{}", step.key)
            };
            assert!(why.contains("slack"), "{}: {why}", step.key);
        }
    }

    #[test]
    fn the_other_top_dead_centre_is_told_from_the_right_one() {
        let mut told = 0;
        for scene in &SCENES {
            let phasing = Phasing::as_drawn(&scene.engine());
            for step in Job::of(&phasing).steps.iter().filter(|step| {
                matches!(
                    step.right,
                    Condition::NumberOneAt(_) | Condition::Lead { .. }
                )
            }) {
                let stand = EngineState {
                    crank: step.crank + CrankTurn::new(360.0),
                    ..stand_for(step)
                };
                let StepCheck::NotYet(why) = step.verdict(&phasing, &stand) else {
                    panic!("{}: {} a turn out", scene.name, step.key)
                };
                assert!(why.contains("overlap"), "{why}");
                told += 1;
            }
        }
        assert!(told >= SCENES.len(), "{told} steps");
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
            let StepCheck::NotYet(why) = step.verdict(&out, &stand_for(step)) else {
                panic!("{key}")
            };
            assert!(why.contains("one tooth ahead"), "{why}");
        }
    }

    #[test]
    fn a_rotor_held_a_tooth_on_goes_home_a_tooth_ahead_and_is_told_so() {
        for name in ["bench_four", "helical_drop", "anticlockwise", "flat_four"] {
            let engine = engine(name);
            let drawn = Phasing::as_drawn(&engine);
            let distributor = engine.metric().distributor.as_ref().expect("a distributor");
            let tooth = ignition::rotor_tooth(distributor).degrees();
            let start = dropin(&drawn).expect("a distributor").rotor_start;
            for teeth in -2..=2 {
                let held = start.turned(distributor.rotation, tooth * (f64::from(teeth) + 0.3));
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
                    step.verdict(&built, &stand_for(step)).is_right(),
                    teeth == 0,
                    "{name} {teeth}"
                );
            }
        }
    }

    #[test]
    fn a_drive_let_down_on_overlap_is_told_from_one_a_tooth_out() {
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
        let StepCheck::NotYet(why) = step.verdict(&built, &stand_for(step)) else {
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
            .find(|step| step.right == Condition::TwoTurns)
            .expect("the step");
        for turned in [-720.0, 0.0, 360.0] {
            let stand = EngineState {
                turned: CrankTurn::new(turned),
                ..stand_for(step)
            };
            assert!(!step.verdict(&phasing, &stand).is_right(), "{turned}");
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
            lead.verdict(&built, &stand_for(lead)),
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
            Condition::RotorHeld(_) | Condition::RotorHome(_) | Condition::Lead { .. }
        )));
    }

    #[test]
    fn progress_written_and_read_again_is_the_same_and_a_moved_step_is_open_again() {
        let phasing = Phasing::as_drawn(&engine("marks_off_tdc"));
        let job = Job::of(&phasing);
        let mut progress = Progress::none("Marks off TDC");
        job.steps
            .iter()
            .take(2)
            .for_each(|step| progress.tick(step));
        let again = Progress::read(&progress.write().expect("written")).expect("read");
        assert_eq!(again, progress);
        assert_eq!(job.next_open(&again), Some(2));

        let mut description = phasing.engine().written().clone();
        description.cam_drive.marks_meet_at += 10.0;
        let (moved, _) = Engine::new(description).expect("an engine");
        assert_eq!(
            Job::of(&Phasing::as_drawn(&moved)).next_open(&again),
            Some(0)
        );
    }

    #[test]
    fn progress_of_another_version_or_with_a_slip_is_refused_with_a_reason() {
        assert_eq!(
            Progress::read("(format: 2, engine: \"x\")").expect_err("refused")[0].name,
            "OutOfRange"
        );
        assert_eq!(
            Progress::read("(format: 1, engin: \"x\")").expect_err("refused")[0].name,
            "UnknownField"
        );
        assert_eq!(
            Progress::beside(Path::new("/b/flat.ron")),
            Path::new("/b/flat.job.ron")
        );
    }
}
