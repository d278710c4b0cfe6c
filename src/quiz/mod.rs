//! Questions made from the engine, for one learner or a class.
//!
//! A [`Question`] puts the engine at a crank angle, as built in some way, and asks what stands
//! where. Its key is read from the [`Reading`](crate::phasing::Reading) at that angle, never
//! written down beside the question; its reason is made from the same numbers. Chance comes from a
//! seed, so that a lesson can be held again. No question stands so near to a change that the
//! other answer could be seen in the model as well.
//!
//! A [`Quiz`] asks one after the other, hides the answer until it is given or asked for, and keeps
//! the [`QuizScore`].

#![expect(
    clippy::indexing_slicing,
    reason = "choices are indices of their own list in another order"
)]

mod chance;
pub(crate) mod looks;
mod round;
pub(crate) mod wording;

pub use chance::Chance;
pub use round::Round;

use std::sync::Arc;

use looks::Looks;

use crate::angle::{CrankAngle, CrankTurn};
use crate::description::{Coupling, MarkOn};
use crate::diagnosis::{fault, verdict};
use crate::engine::Assembly;
use crate::engine::Engine;
use crate::laws::gear_train::CamTeeth;
use crate::phasing::{CylinderPhasing, DeadCentre, Phasing, Stroke};
use crate::procedures::LooksAt;
use crate::words::length;

/// How far the crank stands, at the least, from an angle where the answer changes: more than one
/// misjudges on a model.
const CLEAR_OF_A_CHANGE_DEG: f64 = 8.0;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum QuestionKind {
    /// A cylinder on its compression stroke.
    OnCompression,
    /// The stroke of one cylinder.
    StrokeOf,
    /// The lead that the rotor serves.
    RotorPoints,
    /// Which top dead centre this is.
    FiringOrOverlap,
    /// The fault of an engine put together with one, or with none.
    WhatIsWrong,
}

impl QuestionKind {
    /// Every kind.
    pub const ALL: [Self; 5] = [
        Self::OnCompression,
        Self::StrokeOf,
        Self::RotorPoints,
        Self::FiringOrOverlap,
        Self::WhatIsWrong,
    ];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Self::OnCompression => "on compression",
            Self::StrokeOf => "the four strokes",
            Self::RotorPoints => "where the rotor points",
            Self::FiringOrOverlap => "firing or overlap",
            Self::WhatIsWrong => "what is wrong",
        }
    }

    /// Whether it can be asked of this engine.
    pub fn suits(self, engine: &Engine) -> bool {
        match self {
            Self::OnCompression => engine.cylinder_count() > 1,
            Self::RotorPoints => {
                engine.cylinder_count() > 1 && engine.metric().distributor.is_some()
            }
            Self::StrokeOf | Self::FiringOrOverlap | Self::WhatIsWrong => true,
        }
    }
}

/// What can be answered: by choosing, or by clicking on that part of the model.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// A cylinder, or the lead that goes to it.
    Cylinder(u8),
    /// A stroke.
    Stroke(Stroke),
    /// A dead centre.
    DeadCentre(DeadCentre),
    /// A way of putting the engine together.
    Built(Assembly),
}

impl Answer {
    /// In words.
    pub fn words(&self, engine: &Engine) -> String {
        match self {
            Self::Cylinder(number) => format!("No. {number}"),
            Self::Stroke(stroke) => stroke.word().to_owned(),
            Self::DeadCentre(which) => which.word().to_owned(),
            Self::Built(assembly) => fault::describe(engine, assembly)
                .trim_end_matches('.')
                .to_owned(),
        }
    }
}

/// One question.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What kind it is.
    pub kind: QuestionKind,
    /// What is asked.
    pub text: String,
    /// Where the crank stands.
    pub crank: CrankAngle,
    /// How the engine was put together.
    pub assembly: Assembly,
    /// What can be answered.
    pub choices: Vec<Answer>,
    /// Which of them are right; never empty.
    pub right: Vec<usize>,
    /// Why.
    pub reason: String,
    /// The part at which it is answered.
    pub looks_at: LooksAt,
}

impl Question {
    /// Makes a question of a kind; None where the engine does not suit it.
    pub fn make(engine: &Arc<Engine>, kind: QuestionKind, chance: &mut Chance) -> Option<Self> {
        Self::make_after(engine, kind, &[], chance)
    }

    /// The same, after these faults were asked about lately.
    fn make_after(
        engine: &Arc<Engine>,
        kind: QuestionKind,
        lately: &[Assembly],
        chance: &mut Chance,
    ) -> Option<Self> {
        if !kind.suits(engine) {
            return None;
        }
        question(&Phasing::as_drawn(engine), kind, lately, chance)
    }

    /// Whether a choice is right.
    pub fn is_right(&self, choice: usize) -> bool {
        self.right.contains(&choice)
    }

    /// The choice that a click on a cylinder, or on its lead, stands for.
    pub fn choice_of_cylinder(&self, number: u8) -> Option<usize> {
        self.choices
            .iter()
            .position(|choice| *choice == Answer::Cylinder(number))
    }
}

/// A question about an engine as built, after these faults were asked about lately.
fn question(
    built: &Phasing,
    kind: QuestionKind,
    lately: &[Assembly],
    chance: &mut Chance,
) -> Option<Question> {
    match kind {
        QuestionKind::OnCompression => on_compression(built, chance),
        QuestionKind::StrokeOf => stroke_of(built, chance),
        QuestionKind::RotorPoints => rotor_points(built, chance),
        QuestionKind::FiringOrOverlap => firing_or_overlap(built, chance),
        QuestionKind::WhatIsWrong => fault_question(built, lately, chance),
    }
}

/// Whole crank degrees at which each of these cylinders is clear of a dead centre.
fn clear_angles<'a>(
    phasing: &'a Phasing,
    cylinders: &'a [CylinderPhasing],
) -> impl Iterator<Item = CrankAngle> + 'a {
    let down = phasing.slider().down_stroke_deg();
    let ends = Stroke::ALL.map(|stroke| CrankAngle::new(stroke.begins_deg(down)));
    let clear = move |phase: CrankAngle| {
        ends.iter()
            .all(|end| phase.nearest_to(*end).degrees().abs() >= CLEAR_OF_A_CHANGE_DEG)
    };
    (0..720)
        .map(|degree| CrankAngle::new(f64::from(degree)))
        .filter(move |crank| {
            cylinders
                .iter()
                .all(|cylinder| clear(phasing.phase_of(cylinder, *crank)))
        })
}

fn every_cylinder(phasing: &Phasing) -> Vec<Answer> {
    phasing
        .cylinders()
        .iter()
        .map(|cylinder| Answer::Cylinder(cylinder.number))
        .collect()
}

fn on_compression(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let angles: Vec<_> = clear_angles(drawn, drawn.cylinders())
        .filter(|crank| drawn.at(*crank).on_compression().next().is_some())
        .collect();
    let crank = chance.pick(&angles)?;
    let reading = drawn.at(crank);
    let choices = every_cylinder(drawn);
    let right: Vec<usize> = reading
        .on_compression()
        .map(|number| usize::from(number) - 1)
        .collect();
    let coming = reading
        .on_compression()
        .filter_map(|number| drawn.cylinder(number))
        .map(|cylinder| {
            format!(
                "No. {} comes to its firing TDC {:.0}° further on",
                cylinder.number,
                crank.on_to(cylinder.fires).degrees()
            )
        });
    let reason = format!(
        "{}: its piston is coming up, and both valves are shut or the intake is about to close. A piston that comes up with its exhaust \
         valve open is on exhaust.",
        coming.collect::<Vec<_>>().join("; ")
    );
    let text = if right.len() > 1 {
        wording::ONE_ON_COMPRESSION
    } else {
        wording::ON_COMPRESSION
    };
    Some(Question {
        kind: QuestionKind::OnCompression,
        text: text.into(),
        crank,
        assembly: drawn.assembly().clone(),
        choices,
        right,
        reason,
        looks_at: LooksAt::Whole,
    })
}

/// How far past a firing TDC, or before it, whichever is nearer: `8° before`, `90° past`. The
/// handout's script says it alike.
fn about_firing_tdc(past: CrankAngle) -> String {
    let deg = CrankAngle::new(0.0).nearest_to(past).degrees();
    match deg.round() {
        0.0 => "at".to_owned(),
        deg if deg < 0.0 => format!("{:.0}° before", -deg),
        deg => format!("{deg:.0}° past"),
    }
}

fn stroke_of(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let cylinder = chance.pick(drawn.cylinders())?;
    let crank = chance.pick(&clear_angles(drawn, &[cylinder]).collect::<Vec<_>>())?;
    let reading = drawn.at(crank);
    let stood = reading.cylinder(cylinder.number)?;
    let way = if matches!(stood.stroke, Stroke::Power | Stroke::Intake) {
        "going down"
    } else {
        "coming up"
    };
    let valve = |open: bool| if open { "open" } else { "shut" };
    let reason = format!(
        "No. {} is {} its firing TDC: the piston is {way}, its intake valve is {} and its exhaust valve {}. That is {}.",
        cylinder.number,
        about_firing_tdc(stood.phase),
        valve(stood.intake.open),
        valve(stood.exhaust.open),
        stood.stroke.word()
    );
    let right = Stroke::ALL
        .iter()
        .position(|stroke| *stroke == stood.stroke)?;
    Some(Question {
        kind: QuestionKind::StrokeOf,
        text: of_cylinder(wording::STROKE_OF, cylinder),
        crank,
        assembly: drawn.assembly().clone(),
        choices: Stroke::ALL.map(Answer::Stroke).into(),
        right: vec![right],
        reason,
        looks_at: LooksAt::Valves(cylinder.number),
    })
}

/// A question's words about one cylinder.
fn of_cylinder(words: &str, cylinder: CylinderPhasing) -> String {
    words.replace("{cylinder}", &cylinder.number.to_string())
}

/// Hundredths of a degree: what is drawn by them is drawn alike by the handout's script.
fn hundredths(degrees: f64) -> i64 {
    (degrees * 100.0).round() as i64
}

/// How near a tower the rotor points at it and at no other, hundredths of a degree: a third of the
/// way to the nearest other one. One for each tower.
pub(crate) fn tower_reach(built: &Phasing) -> Vec<i64> {
    let towers = built.towers();
    let gap = |one: usize, other: usize| {
        (one != other).then(|| {
            let gap = towers[one].past(towers[other], crate::angle::Direction::Clockwise);
            hundredths(gap).abs()
        })
    };
    let nearest = |one: usize| (0..towers.len()).filter_map(|other| gap(one, other)).min();
    (0..towers.len())
        .map(|one| nearest(one).unwrap_or(18_000) / 3)
        .collect()
}

fn rotor_points(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let reach = tower_reach(drawn);
    let angles: Vec<_> = (0..720)
        .map(|degree| CrankAngle::new(f64::from(degree)))
        .filter(|crank| {
            drawn
                .at(*crank)
                .rotor
                .is_some_and(|rotor| hundredths(rotor.past_deg).abs() <= reach[rotor.tower_index])
        })
        .collect();
    let crank = chance.pick(&angles)?;
    let rotor = drawn.at(crank).rotor?;
    let served = drawn.cylinder(rotor.tower)?;
    let stand = about_firing_tdc(drawn.phase_of(served, crank));
    Some(Question {
        kind: QuestionKind::RotorPoints,
        text: wording::ROTOR_POINTS.replace("{crank}", &about_firing_tdc(crank)),
        crank,
        assembly: drawn.assembly().clone(),
        choices: every_cylinder(drawn),
        right: vec![usize::from(rotor.tower).checked_sub(1)?],
        reason: format!(
            "No. {}: the engine stands {stand} its firing TDC, and the rotor turns at half the crank's speed. It is {:.0}° of rotor {} its tower.",
            rotor.tower,
            rotor.past_deg.abs(),
            if rotor.past_deg < 0.0 {
                "short of"
            } else {
                "past"
            }
        ),
        looks_at: LooksAt::Cap,
    })
}

fn firing_or_overlap(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let cylinder = chance.pick(drawn.cylinders())?;
    let crank = cylinder.fires + CrankTurn::new(if chance.flip() { 360.0 } else { 0.0 });
    let reading = drawn.at(crank);
    let stood = reading.cylinder(cylinder.number)?;
    let choices = [DeadCentre::FiringTdc, DeadCentre::OverlapTdc];
    let right = choices
        .iter()
        .position(|choice| Some(*choice) == stood.dead_centre)?;
    let units = drawn.engine().written().units;
    let valves = match (stood.intake.lift_mm > 0.0, stood.exhaust.lift_mm > 0.0) {
        (false, false) => "both its valves are shut".to_owned(),
        (true, true) => {
            format!(
                "both its valves are off their seats, intake {} and exhaust {}",
                length(stood.intake.lift_mm, units),
                length(stood.exhaust.lift_mm, units)
            )
        }
        (true, false) => "its intake valve is already off its seat".to_owned(),
        (false, true) => "its exhaust valve is still off its seat".to_owned(),
    };
    let rotor = reading.rotor.map_or(String::new(), |rotor| {
        format!(" The rotor is at No. {}'s tower.", rotor.tower)
    });
    let engine = drawn.engine().written();
    let on_the_flywheel = engine.marks.iter().any(|mark| mark.on == MarkOn::Flywheel);
    let marks = if on_the_flywheel {
        "its marks, the flywheel's too, stand"
    } else {
        "its mark stand"
    };
    Some(Question {
        kind: QuestionKind::FiringOrOverlap,
        text: of_cylinder(wording::FIRING_OR_OVERLAP, cylinder),
        crank,
        assembly: drawn.assembly().clone(),
        choices: choices.map(Answer::DeadCentre).into(),
        right: vec![right],
        reason: format!(
            "{}: {valves}.{rotor} The crank and {marks} the same at both.{}",
            choices[right].word(),
            if drawn.engine().sparks_every_turn() {
                " So does a timing light: this plug sparks on overlap too."
            } else {
                ""
            }
        ),
        looks_at: LooksAt::Valves(cylinder.number),
    })
}

/// A fault is not asked about again within so many questions about faults.
const NOT_AGAIN_WITHIN: usize = 10;
/// Teeth that a wheel can be out in a question: what a diagnosis tells apart.
const MOST_TEETH_OUT: i32 = 4;

/// The faults that are asked about, as drawn among them: those this engine can have, each seen
/// apart from every other.
fn faults(engine: &Arc<Engine>) -> Vec<Assembly> {
    let mut faults = vec![Assembly::default()];
    // A tooth either way; further out only until there are enough not to come again too soon.
    for teeth in 1..=MOST_TEETH_OUT {
        if teeth > 1 && faults.len() > NOT_AGAIN_WITHIN {
            break;
        }
        faults.extend(teeth_out(engine, teeth));
        if teeth == 1 {
            faults.extend(leads_moved(engine));
        }
    }
    faults.retain(|fault| fault.check(engine).is_empty());
    faults
}

/// Each wheel so many teeth out, either way; and a tongue the other way about, where that is one
/// tooth's worth of fault.
fn teeth_out(engine: &Engine, teeth: i32) -> Vec<Assembly> {
    let mut faults: Vec<Assembly> = (0..engine.camshaft_count())
        .flat_map(|camshaft| {
            [teeth, -teeth].map(|teeth| {
                Assembly::default().with_cams(CamTeeth::default().with(camshaft, teeth))
            })
        })
        .collect();
    let Some(distributor) = &engine.metric().distributor else {
        return faults;
    };
    let coupling = distributor.coupling();
    if coupling == Coupling::Gear || distributor.is_on_geared_shaft() {
        // Further than a quarter of its teeth out it is seen to be half a turn out, or nearly.
        if teeth == 1 || teeth.unsigned_abs() * 4 < distributor.driven_teeth {
            faults.extend([teeth, -teeth].map(|drive_teeth| Assembly {
                drive_teeth,
                ..Assembly::default()
            }));
        }
    }
    if coupling == Coupling::CentralTongue && teeth == 1 {
        faults.push(if distributor.is_on_geared_shaft() {
            Assembly {
                tongue_half_turn: true,
                ..Assembly::default()
            }
        } else {
            Assembly {
                drive_teeth: (distributor.driven_teeth / 2).cast_signed(),
                ..Assembly::default()
            }
        });
    }
    faults
}

/// Leads plugged one tower round, and two of them crossed; or two changed over between coils.
fn leads_moved(engine: &Engine) -> Vec<Assembly> {
    let plugged = |leads| Assembly {
        leads: Some(leads),
        ..Assembly::default()
    };
    if engine.metric().distributor.is_some() {
        let order = engine.firing_order();
        if order.len() <= 2 {
            return Vec::new();
        }
        let mut round = order.to_vec();
        round.rotate_left(1);
        let mut crossed = order.to_vec();
        crossed.swap(1, 2);
        return vec![plugged(round), plugged(crossed)];
    }
    // Between two coils, for on one coil it does no harm.
    let [one, other, ..] = engine.coils() else {
        return Vec::new();
    };
    let Some((one, other)) = one.first().zip(other.first()) else {
        return Vec::new();
    };
    let change = |&lead: &u8| match lead {
        lead if lead == *one => *other,
        lead if lead == *other => *one,
        lead => lead,
    };
    vec![plugged(engine.lead_order().iter().map(change).collect())]
}

/// The faults that are asked about on an engine as built, and which of them it has. As drawn, it may
/// have any.
pub(crate) fn faults_of(built: &Phasing) -> (Vec<Assembly>, Option<usize>) {
    let engine = built.engine();
    let mut faults = faults(engine);
    if built.assembly().is_as_drawn() {
        return (faults, None);
    }
    let planted = Looks::of(built);
    let same = |fault: &Assembly| Looks::of(&Phasing::as_built(engine, fault)) == planted;
    let known = faults.iter().position(same);
    // Out twice, and so that nothing shows of it.
    if known == Some(0) {
        return (faults, None);
    }
    let index = known.unwrap_or_else(|| {
        faults.push(built.assembly().clone());
        faults.len() - 1
    });
    (faults, Some(index))
}

/// What is wrong with an engine as built; with one as drawn, once it is built in some way.
/// Of those that were asked about `lately` none is drawn again, but where there are too few others.
fn fault_question(built: &Phasing, lately: &[Assembly], chance: &mut Chance) -> Option<Question> {
    const CHOICES: usize = 4;
    let engine = built.engine();
    let (faults, planted) = faults_of(built);
    // Where there are fewer than would do, the one that was asked about longest ago comes again.
    let most = NOT_AGAIN_WITHIN.min(faults.len()) - 1;
    let lately: Vec<&Assembly> = lately.iter().rev().take(most).collect();
    let fresh: Vec<usize> = (0..faults.len())
        .filter(|index| !lately.contains(&&faults[*index]))
        .collect();
    let wrong = match planted {
        Some(planted) => planted,
        None => chance.pick(&fresh)?,
    };
    let mut others: Vec<usize> = (1..faults.len()).filter(|index| *index != wrong).collect();
    chance.shuffle(&mut others);
    // "Nothing" is always among the choices, so that the list never gives it away.
    let mut shown: Vec<usize> = [wrong]
        .into_iter()
        .chain((wrong != 0).then_some(0))
        .chain(others)
        .take(CHOICES)
        .collect();
    chance.shuffle(&mut shown);
    let assembly = if planted.is_some() {
        built.assembly().clone()
    } else {
        faults[wrong].clone()
    };
    let crank = CrankAngle::new(chance.below(72) as f64 * 10.0);
    Some(Question {
        kind: QuestionKind::WhatIsWrong,
        text: asks_what_is_wrong(engine),
        crank,
        right: shown
            .iter()
            .enumerate()
            .filter(|(_, index)| **index == wrong)
            .map(|(place, _)| place)
            .collect(),
        reason: fault_reason(&Phasing::as_built(engine, &assembly)),
        choices: shown
            .into_iter()
            .map(|index| Answer::Built(faults[index].clone()))
            .collect(),
        assembly,
        looks_at: LooksAt::Whole,
    })
}

/// The question what is wrong, as it is asked about this engine.
pub(crate) fn asks_what_is_wrong(engine: &Engine) -> String {
    wording::WHAT_IS_WRONG.replace("{parts}", what_there_is_to_look_at(engine))
}

/// What a fault can be seen by on this engine.
fn what_there_is_to_look_at(engine: &Engine) -> &'static str {
    match (engine.metric().distributor.is_some(), engine.has_leads()) {
        (true, _) => "marks, valves, rotor and leads",
        (false, true) => "marks, valves and leads",
        (false, false) => "marks and valves",
    }
}

/// What is wrong, and what comes of it.
pub(crate) fn fault_reason(built: &Phasing) -> String {
    let verdict = verdict::of(built);
    let lines = [
        fault::describe(built.engine(), built.assembly()),
        verdict.sentence,
    ]
    .into_iter()
    .chain(verdict.consequences);
    lines.collect::<Vec<_>>().join("\n")
}

/// How many questions were answered so far, and how many rightly.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct QuizScore {
    /// Questions answered, or whose answer was asked for.
    pub asked: u32,
    /// Answered right at the first go.
    pub right: u32,
    /// Right answers one after the other, up to now.
    pub in_a_row: u32,
}

/// Questions one after the other.
#[derive(Clone, Debug)]
pub struct Quiz {
    engine: Arc<Engine>,
    kinds: Vec<QuestionKind>,
    chance: Chance,
    question: Question,
    given: Option<usize>,
    shown: bool,
    score: QuizScore,
    /// The engines as built that were asked about, the last of them last.
    lately: Vec<Assembly>,
}

impl Quiz {
    /// Begins with the first question. The same seed asks the same questions. Kinds that do not
    /// suit the engine are left out; None where none is left.
    pub fn begin(engine: &Arc<Engine>, kinds: &[QuestionKind], seed: u64) -> Option<Self> {
        let kinds: Vec<QuestionKind> = kinds
            .iter()
            .copied()
            .filter(|kind| kind.suits(engine))
            .collect();
        let mut chance = Chance::with_seed(seed);
        let question = Question::make(engine, chance.pick(&kinds)?, &mut chance)?;
        let lately = asked_about(&question).into_iter().collect();
        Some(Self {
            lately,
            engine: Arc::clone(engine),
            kinds,
            chance,
            question,
            given: None,
            shown: false,
            score: QuizScore::default(),
        })
    }

    /// The engine it asks about.
    pub fn engine(&self) -> &Arc<Engine> {
        &self.engine
    }

    /// What is asked now.
    pub fn question(&self) -> &Question {
        &self.question
    }

    /// What was answered, if anything yet.
    pub fn given(&self) -> Option<usize> {
        self.given
    }

    /// Whether the answer may be seen.
    pub fn is_shown(&self) -> bool {
        self.shown
    }

    /// How many were answered so far, and how many rightly.
    pub fn score(&self) -> QuizScore {
        self.score
    }

    /// Answers; only the first answer to a question counts, and none once the answer is shown.
    pub fn answer(&mut self, choice: usize) {
        if self.shown || choice >= self.question.choices.len() {
            return;
        }
        self.given = Some(choice);
        self.close(self.question.is_right(choice));
    }

    /// Shows the answer without one being given: it counts as asked.
    pub fn show(&mut self) {
        if !self.shown {
            self.close(false);
        }
    }

    fn close(&mut self, right: bool) {
        self.shown = true;
        self.score.asked += 1;
        self.score.right += u32::from(right);
        self.score.in_a_row = if right { self.score.in_a_row + 1 } else { 0 };
    }

    /// Goes on to the next question. One that was not answered is not counted.
    pub fn next(&mut self) {
        if let Some(kind) = self.chance.pick(&self.kinds)
            && let Some(question) =
                Question::make_after(&self.engine, kind, &self.lately, &mut self.chance)
        {
            self.lately.extend(asked_about(&question));
            let over = self.lately.len().saturating_sub(NOT_AGAIN_WITHIN);
            self.lately.drain(..over);
            self.question = question;
            self.given = None;
            self.shown = false;
        }
    }
}

/// How the engine was built that a question asks about; None where it asks about none.
fn asked_about(question: &Question) -> Option<Assembly> {
    (question.kind == QuestionKind::WhatIsWrong).then(|| question.assembly.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::observations::CamTeethOff;
    use crate::engine::scenes::SCENES;

    fn questions(kind: QuestionKind, each: usize) -> Vec<(Arc<Engine>, Question)> {
        let all: Vec<_> = SCENES
            .iter()
            .filter(move |scene| kind.suits(&scene.engine()))
            .flat_map(move |scene| {
                let engine = scene.engine();
                let mut chance = Chance::with_seed(7);
                (0..each)
                    .map(move |_| {
                        (
                            Arc::clone(&engine),
                            Question::make(&engine, kind, &mut chance).expect("a question"),
                        )
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
        assert!(all.len() >= each, "no scene suits {kind:?}");
        all
    }

    #[test]
    fn a_cylinder_marked_right_for_compression_is_the_one_that_fires_within_half_a_turn() {
        for (engine, question) in questions(QuestionKind::OnCompression, 40) {
            for (choice, answer) in question.choices.iter().enumerate() {
                let Answer::Cylinder(number) = answer else {
                    panic!("{answer:?}")
                };
                let index = engine
                    .firing_order()
                    .iter()
                    .position(|other| other == number)
                    .expect("in the order");
                let to_go =
                    (engine.firing_angles()[index] - question.crank.degrees()).rem_euclid(720.0);
                assert_eq!(
                    question.is_right(choice),
                    to_go < 180.0,
                    "{}: No. {number} at {:?}",
                    engine.name(),
                    question.crank
                );
            }
            assert!(!question.right.is_empty());
        }
    }

    #[test]
    fn the_stroke_marked_right_is_what_the_piston_and_the_valves_say() {
        for (engine, question) in questions(QuestionKind::StrokeOf, 40) {
            let number: u8 = question
                .text
                .trim_end_matches(" on?")
                .rsplit(' ')
                .next()
                .and_then(|word| word.parse().ok())
                .expect("a number");
            let phasing = Phasing::as_drawn(&engine);
            let ahead = phasing.at(question.crank + CrankTurn::new(1.0));
            let (now, soon) = (phasing.at(question.crank), ahead);
            let (now, soon) = (
                now.cylinder(number).expect("there"),
                soon.cylinder(number).expect("there"),
            );
            let down = soon.piston_drop_mm > now.piston_drop_mm;
            let second_turn = (180.0..540.0).contains(&now.phase.degrees());
            let stroke = match (down, second_turn) {
                (true, false) => Stroke::Power,
                (false, true) => Stroke::Exhaust,
                (true, true) => Stroke::Intake,
                (false, false) => Stroke::Compression,
            };
            assert_eq!(
                question.choices[question.right[0]],
                Answer::Stroke(stroke),
                "{} {}",
                engine.name(),
                question.text
            );
        }
    }

    #[test]
    fn the_lead_marked_right_is_the_tower_the_rotor_is_nearest_to() {
        for (engine, question) in questions(QuestionKind::RotorPoints, 40) {
            let phasing = Phasing::as_drawn(&engine);
            let rotor = phasing.at(question.crank).rotor.expect("a rotor").clock;
            let apart = |tower: crate::angle::Clock| {
                tower.past(rotor, crate::angle::Direction::Clockwise).abs()
            };
            let nearest = phasing
                .towers()
                .iter()
                .enumerate()
                .min_by(|one, other| apart(*one.1).total_cmp(&apart(*other.1)))
                .expect("towers")
                .0;
            let served = phasing.leads()[nearest];
            assert_eq!(
                question.choices[question.right[0]],
                Answer::Cylinder(served),
                "{}",
                engine.name()
            );
        }
    }

    #[test]
    fn firing_is_told_from_overlap_by_the_valves_a_little_either_side() {
        for (engine, question) in questions(QuestionKind::FiringOrOverlap, 40) {
            let number: u8 = question.text[4..]
                .split(' ')
                .next()
                .and_then(|word| word.parse().ok())
                .expect("a number");
            let phasing = Phasing::as_drawn(&engine);
            let shut = [-30.0, 30.0].iter().all(|by| {
                phasing
                    .at(question.crank + CrankTurn::new(*by))
                    .cylinder(number)
                    .expect("there")
                    .sealed()
            });
            let wanted = if shut {
                DeadCentre::FiringTdc
            } else {
                DeadCentre::OverlapTdc
            };
            assert_eq!(
                question.choices[question.right[0]],
                Answer::DeadCentre(wanted),
                "{}",
                engine.name()
            );
        }
    }

    #[test]
    fn the_fault_marked_right_is_the_one_built_and_no_other_choice_looks_like_it() {
        /// Everything that can be seen of how an engine was put together.
        fn seen(engine: &Arc<Engine>, assembly: &Assembly) -> String {
            let built = Phasing::as_built(engine, assembly);
            let rotor = built
                .at(CrankAngle::new(0.0))
                .rotor
                .map(|rotor| rotor.clock.degrees().round());
            let towers: Vec<_> = built
                .towers()
                .iter()
                .map(|tower| tower.degrees().round())
                .collect();
            format!(
                "{:?} {rotor:?} {towers:?} {:?}",
                built.assembly().cams(),
                built.leads()
            )
        }
        for (engine, question) in questions(QuestionKind::WhatIsWrong, 40) {
            let right = question.right[0];
            assert_eq!(
                question.choices[right],
                Answer::Built(question.assembly.clone())
            );
            assert!(
                question
                    .choices
                    .contains(&Answer::Built(Assembly::default())),
                "nothing wrong can always be chosen"
            );
            for (index, choice) in question.choices.iter().enumerate() {
                let Answer::Built(assembly) = choice else {
                    panic!("{choice:?}")
                };
                assert_eq!(
                    seen(&engine, assembly) == seen(&engine, &question.assembly),
                    index == right,
                    "{}",
                    engine.name()
                );
            }
        }
    }

    #[test]
    fn a_diagnosis_from_what_can_be_seen_finds_the_fault_that_is_marked_right() {
        use crate::description::Valve;
        use crate::diagnosis::diagnose;
        use crate::diagnosis::observations::{
            Observation, Observations, RotorObservation, ValveObservation, ValveState,
        };
        for (engine, question) in questions(QuestionKind::WhatIsWrong, 12) {
            let built = Phasing::as_built(&engine, &question.assembly);
            let reading = built.at(CrankAngle::new(0.0));
            let seen_valve =
                |cylinder: &crate::phasing::CylinderReading, valve, open| ValveObservation {
                    cylinder: u32::from(cylinder.number),
                    valve,
                    is: if open {
                        ValveState::Open
                    } else {
                        ValveState::Closed
                    },
                };
            let valves = reading.cylinders.iter().flat_map(|cylinder| {
                [
                    seen_valve(cylinder, Valve::Intake, cylinder.intake.open),
                    seen_valve(cylinder, Valve::Exhaust, cylinder.exhaust.open),
                ]
            });
            let sighting = Observation {
                valves: valves.collect(),
                rotor: reading.rotor.map(|rotor| RotorObservation {
                    clock: Some(rotor.clock.degrees()),
                    tower: None,
                    within: None,
                }),
                cam_teeth_off: Some(CamTeethOff::Named(
                    engine
                        .camshaft_names()
                        .enumerate()
                        .map(|(camshaft, name)| {
                            (name.to_owned(), question.assembly.cams().of(camshaft))
                        })
                        .collect(),
                )),
                ..Observation::at(0.0)
            };
            let leads = engine
                .metric()
                .distributor
                .as_ref()
                .map(|_| built.leads().iter().map(|lead| u32::from(*lead)).collect());
            let found = diagnose(
                &engine,
                &Observations {
                    format: 1,
                    sightings: vec![sighting],
                    leads,
                    body_turn: 0.0,
                },
            );
            let best = found.fits.first().expect("a fit");
            let leads_as =
                |assembly: &Assembly| Phasing::as_built(&engine, assembly).leads().to_vec();
            assert_eq!(
                (
                    best.assembly.cams(),
                    best.assembly.drive_teeth,
                    leads_as(&best.assembly)
                ),
                (
                    question.assembly.cams(),
                    question.assembly.drive_teeth,
                    leads_as(&question.assembly)
                ),
                "{}: {:?}",
                engine.name(),
                question.assembly
            );
        }
    }

    #[test]
    fn every_kind_of_fault_and_none_at_all_comes_up() {
        let engine = SCENES[0].engine();
        let mut chance = Chance::with_seed(1);
        let mut built: Vec<Assembly> = Vec::new();
        for _ in 0..200 {
            let question = Question::make(&engine, QuestionKind::WhatIsWrong, &mut chance)
                .expect("a question");
            if !built.contains(&question.assembly) {
                built.push(question.assembly);
            }
        }
        assert_eq!(built.len(), faults(&engine).len());
    }

    #[test]
    fn no_fault_comes_again_within_ten_on_engines_that_can_have_so_many() {
        for scene in &SCENES {
            let engine = scene.engine();
            let all = faults(&engine).len();
            assert!(all >= 9, "{}: {all}", scene.name);
            let within = NOT_AGAIN_WITHIN.min(all);
            for seed in 0..4 {
                let kinds = [QuestionKind::WhatIsWrong];
                let mut quiz = Quiz::begin(&engine, &kinds, seed).expect("a quiz");
                let mut asked = vec![quiz.question().assembly.clone()];
                for _ in 0..30 {
                    quiz.next();
                    asked.push(quiz.question().assembly.clone());
                }
                for ten in asked.windows(within) {
                    let twice = (1..ten.len()).find(|index| ten[..*index].contains(&ten[*index]));
                    assert_eq!(twice, None, "{}: {ten:?}", scene.name);
                }
            }
        }
        assert!(faults(&SCENES[0].engine()).len() > NOT_AGAIN_WITHIN);
    }

    #[test]
    fn no_question_counts_on_past_a_tdc_that_is_nearer_before() {
        for kind in QuestionKind::ALL {
            for (engine, question) in questions(kind, 60) {
                let said = format!("{} {}", question.text, question.reason);
                for past in said
                    .split("° past")
                    .collect::<Vec<_>>()
                    .split_last()
                    .map_or(&[][..], |(_, before)| before)
                {
                    let number: String = past
                        .chars()
                        .rev()
                        .take_while(char::is_ascii_digit)
                        .collect();
                    let number: String = number.chars().rev().collect();
                    let deg: f64 = number.parse().unwrap_or(0.0);
                    assert!(deg <= 360.0, "{}: {said}", engine.name());
                }
            }
        }
        assert_eq!(about_firing_tdc(CrankAngle::new(712.0)), "8° before");
        assert_eq!(about_firing_tdc(CrankAngle::new(90.0)), "90° past");
        assert_eq!(about_firing_tdc(CrankAngle::new(0.0)), "at");
    }

    #[test]
    fn the_same_seed_asks_the_same_questions_and_another_asks_others() {
        let engine = SCENES[0].engine();
        let ask = |seed| {
            let mut quiz = Quiz::begin(&engine, &QuestionKind::ALL, seed).expect("a quiz");
            (0..20)
                .map(|_| {
                    quiz.next();
                    quiz.question().clone()
                })
                .collect::<Vec<_>>()
        };
        assert_eq!(ask(3), ask(3));
        assert_ne!(ask(3), ask(4));
    }

    #[test]
    fn only_the_first_answer_counts_and_an_answer_asked_for_is_not_right() {
        let engine = SCENES[0].engine();
        let mut quiz = Quiz::begin(&engine, &[QuestionKind::StrokeOf], 5).expect("a quiz");
        assert!(!quiz.is_shown());
        let right = quiz.question().right[0];
        quiz.answer(99);
        assert!(!quiz.is_shown(), "a choice that is not there is no answer");
        quiz.answer(right);
        quiz.answer((right + 1) % 4);
        assert_eq!(
            (quiz.given(), quiz.score()),
            (
                Some(right),
                QuizScore {
                    asked: 1,
                    right: 1,
                    in_a_row: 1
                }
            )
        );
        quiz.next();
        quiz.show();
        quiz.answer(quiz.question().right[0]);
        assert_eq!(
            quiz.score(),
            QuizScore {
                asked: 2,
                right: 1,
                in_a_row: 0
            }
        );
    }

    #[test]
    fn a_single_cylinder_is_not_asked_which_cylinder() {
        let single = crate::engine::scenes::find("single")
            .expect("a scene")
            .engine();
        assert!(Quiz::begin(&single, &[QuestionKind::OnCompression], 1).is_none());
        assert!(Quiz::begin(&single, &QuestionKind::ALL, 1).is_some());
    }
}
