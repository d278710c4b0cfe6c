//! What an answer takes for granted: what the description does not state, what was assumed, and
//! what was reckoned and not measured.

use std::borrow::Cow;

use super::{Engine, Ignitions};
use crate::description::fields::{self, Absent};
use crate::description::{Coupling, DriveKind, DrivenBy, MarkOn, SecondIgnition, Valve};
use crate::laws::{Lobes, gear_train};
use crate::words::{degrees, length, number};

/// What an answer speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// Which way the crankshaft turns.
    Turning,
    /// How far down a piston is, and where its dead centres are.
    Pistons,
    /// Where valves leave and reach their seats, and how far they are off them.
    Valves,
    /// How near valves come to the pistons.
    Clearance,
    /// Where marks stand, and when those of the cam drive meet.
    Marks,
    /// Where the rotor points.
    Rotor,
    /// How the distributor's drive goes down and takes hold.
    Drive,
    /// How often each plug sparks.
    Sparks,
    /// How a valve is set.
    Setting,
    /// How far the camshaft can stand out without a tooth being out.
    Play,
}

use Subject::{Clearance, Drive, Marks, Pistons, Play, Rotor, Setting, Sparks, Turning, Valves};

/// Each field that has a default which an answer can rest on, and the subjects that it bears on.
const DEFAULTS: &[(&str, &[Subject])] = &[
    ("crankshaft.rotation", &[Turning, Marks]),
    ("pin_offset", &[Pistons, Clearance]),
    ("cam_drive.marks_meet_at", &[Marks]),
    ("cam_drive.counted_on", &[Marks]),
    ("marks[].pointer_at", &[Marks]),
    ("valves.quoted_at", &[Valves, Clearance]),
    ("valves.measured_at", &[Valves, Clearance]),
    ("valves.adjusters", &[Setting]),
    ("clearance.valve_angle", &[Clearance]),
    ("distributor.rotation", &[Rotor, Drive]),
    ("distributor.offset", &[Rotor, Drive]),
    ("distributor.coupling", &[Drive]),
    ("distributor.shaft", &[Drive]),
    ("distributor.camshaft", &[Rotor, Drive]),
    ("ignition.sparks", &[Sparks]),
];

impl Engine {
    /// What an answer about these subjects takes for granted, a sentence each.
    pub fn rests_on(&self, subjects: &[Subject]) -> Vec<String> {
        let bears = |on: &[Subject]| on.iter().any(|subject| subjects.contains(subject));
        let mut sentences: Vec<String> = DEFAULTS
            .iter()
            .filter(|(path, on)| bears(on) && self.leaves_out(path))
            .filter_map(|(path, _)| default_taken(&self.place(path)))
            .collect();
        sentences.extend(
            self.assumed()
                .into_iter()
                .filter(|(on, _)| bears(on))
                .map(|(_, sentence)| sentence.into_owned()),
        );
        sentences
    }

    /// The place in the file at which a field of this engine's ignition stands.
    fn place<'a>(&self, path: &'a str) -> Cow<'a, str> {
        let of_an_ignition = path.starts_with("distributor") || path.starts_with("ignition");
        if of_an_ignition && self.ignitions() == Ignitions::SecondOfTwo {
            format!("{}.{path}", SecondIgnition::PATH).into()
        } else {
            path.into()
        }
    }

    /// Whether the description has a part in which this field could stand, and does not state it.
    fn leaves_out(&self, path: &str) -> bool {
        let d = self.metric();
        let distributor = d.distributor.as_ref();
        match path {
            "crankshaft.rotation" => d.crankshaft.rotation.is_none(),
            "pin_offset" => d.pin_offset.is_none(),
            "cam_drive.marks_meet_at" => d.cam_drive.marks_meet_at.is_none(),
            "cam_drive.counted_on" => {
                d.cam_drive.links_between_marks.is_some() && d.cam_drive.counted_on.is_none()
            }
            "marks[].pointer_at" => d
                .marks
                .iter()
                .any(|mark| mark.on == MarkOn::Flywheel && mark.pointer_at.is_none()),
            "valves.quoted_at" => !d.valves.is_quoted_lift_stated(),
            "valves.measured_at" => d.valves.measured_at.is_none(),
            "valves.adjusters" => d.valves.adjusters.is_none(),
            "clearance.valve_angle" => d
                .clearance
                .as_ref()
                .is_some_and(|clearance| clearance.valve_angle.is_none()),
            "distributor.rotation" => {
                distributor.is_some_and(|distributor| distributor.rotation.is_none())
            }
            "distributor.offset" => {
                distributor.is_some_and(|distributor| distributor.offset.is_none())
            }
            "distributor.coupling" => {
                distributor.is_some_and(|distributor| distributor.coupling.is_none())
            }
            "distributor.shaft" => distributor.is_some_and(|distributor| {
                distributor.shaft.is_none() && distributor.coupling() != Coupling::Gear
            }),
            "distributor.camshaft" => distributor.is_some_and(|distributor| {
                self.has_several_camshafts()
                    && distributor.driven_by == DrivenBy::Camshaft
                    && distributor.camshaft.is_none()
            }),
            "ignition.sparks" => d.ignition.sparks.is_none() && d.ignition.coils.is_some(),
            _ => false,
        }
    }

    /// What was assumed or reckoned, and what it bears on.
    fn assumed(&self) -> Vec<(&'static [Subject], Cow<'static, str>)> {
        let d = self.written();
        let mut assumed: Vec<(&'static [Subject], Cow<'static, str>)> = self
            .laws_of_lift()
            .into_iter()
            .map(|sentence| (&[Valves, Clearance][..], sentence))
            .collect();
        if let (Some(intake), Some(exhaust)) =
            (d.valves.gap(Valve::Intake), d.valves.gap(Valve::Exhaust))
        {
            let gap = |gap: f64| length(gap * d.units.millimetres(), d.units);
            assumed.push((
                &[Valves],
                format!(
                    "Lifts and events are told without lash. With the valves set, each lifts by less, the intake by {}, the exhaust by {}, and leaves its seat later.",
                    gap(intake),
                    gap(exhaust)
                )
                .into(),
            ));
        }
        if d.clearance.is_some() {
            assumed.push((
                &[Clearance],
                "Clearance is reckoned without valve lash, the worst case, and without flex, stretch or high revs.".into(),
            ));
        }
        let touch = d
            .clearance
            .as_ref()
            .and_then(|measured| measured.valves_touch_at);
        if d.clearance.is_some() && self.has_several_camshafts() && touch.is_none() {
            assumed.push((
                &[Clearance],
                "Valve against valve was not looked at: with camshafts apart from one another, the two valves of a cylinder can meet too. Where they lean towards each other, measure at which lift they touch and write it as `clearance.valves_touch_at`.".into(),
            ));
        }
        if d.cam_drive.backlash.is_none() {
            assumed.push((
                &[Play],
                "`cam_drive.backlash` is not stated: the drive was taken to have no play.".into(),
            ));
        }
        if d.cam_drive.kind != DriveKind::Gears
            && d.cam_drive.backlash.is_some()
            && gear_train::cam_play(&d.cam_drive).is_none()
        {
            assumed.push((
                &[Play],
                "`cam_drive.pitch` is not stated, so the wheels' size is not known: what the slack of the chain or belt is worth was not reckoned.".into(),
            ));
        }
        let distributor = self.metric().distributor.as_ref();
        if distributor.is_some_and(|distributor| {
            distributor.turns_on_entry.is_none() && distributor.helix.is_some()
        }) {
            assumed.push((
                &[Drive],
                "How far the rotor turns as its drive goes home was reckoned from the helix, not measured.".into(),
            ));
        }
        assumed.extend(match self.ignitions() {
            Ignitions::One => None,
            Ignitions::FirstOfTwo => Some((
                &[Rotor, Drive, Sparks][..],
                "The engine has two ignitions: this is about the first. The second is timed, plugged and asked about by itself.".into(),
            )),
            Ignitions::SecondOfTwo => Some((
                &[Rotor, Drive, Sparks][..],
                "The engine has two ignitions: this is about the second, and says nothing of the first.".into(),
            )),
        });
        assumed
    }

    /// What the lift between a valve's events follows, a sentence for each law.
    fn laws_of_lift(&self) -> Vec<Cow<'static, str>> {
        let d = self.written();
        let lobes = Lobes::of(&self.metric().valves);
        let fitted = |valve: &Valve| lobes.lobe(*valve).fitted_exponent().is_some();
        // Of a lobe as measured nothing is assumed.
        let by_law = |valve: &Valve| d.valves.lifts(*valve).is_none();
        let (by_pairs, assumed): (Vec<Valve>, Vec<Valve>) =
            Valve::BOTH.into_iter().filter(by_law).partition(fitted);
        let mut sentences = Vec::new();
        match assumed.as_slice() {
            [] => {}
            [one] => sentences.push(
                format!(
                    "How far the {} valve is off its seat between its events follows an assumed law of lift (single dwell, 3-4-5-6 polynomial), not your lobe as measured.",
                    one.word()
                )
                .into(),
            ),
            _ => sentences.push("How far a valve is off its seat between its events follows an assumed law of lift (single dwell, 3-4-5-6 polynomial), not your lobe as measured.".into()),
        }
        for valve in by_pairs {
            let lobe = lobes.lobe(valve);
            let (Ok(events), Some(exponent)) = (d.valves.events(valve), lobe.fitted_exponent())
            else {
                continue;
            };
            let Some(also) = events.also_at else { continue };
            let lift = |lift: f64| match lift * d.units.millimetres() {
                mm if mm > 0.0 => format!("at {}", length(mm, d.units)),
                _ => "at the seat".to_owned(),
            };
            sentences.push(
                format!(
                    "How far the {} valve is off its seat follows a law of lift fitted to its events {} and {}: alike on both sides, {} from seat to seat (exponent {}). Ramps and flanks are what both pairs make of them, not your lobe as measured.",
                    valve.word(),
                    lift(events.quoted_at),
                    lift(also.lift),
                    degrees(lobe.seat_duration_deg()),
                    number(exponent, 2)
                )
                .into(),
            );
        }
        sentences
    }
}

/// What was taken for a field that is not stated, in the words of the table of fields.
fn default_taken(path: &str) -> Option<String> {
    let field = fields::field(path)?;
    let taken = match field.absent {
        Absent::Value(value) => match field.range()?.unit {
            fields::Unit::Degrees => format!("{value}°"),
            _ => format!("{value}"),
        },
        Absent::Word(word) => word.to_owned(),
        Absent::WorkedOut(how) => how.to_owned(),
        Absent::Nothing | Absent::Required => return None,
    };
    Some(format!(
        "`{path}` is not stated: {taken} was taken ({}).",
        field.what
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;

    fn sentences(change: impl FnOnce(&mut crate::description::Description)) -> Vec<String> {
        let mut description = BENCH.engine().written().clone();
        change(&mut description);
        let (engine, _) = Engine::new(description).expect("an engine");
        engine.rests_on(&[Clearance, Rotor])
    }

    #[test]
    fn every_default_is_said_once_it_is_not_stated_and_only_then() {
        let before = sentences(|_| ());
        let after = sentences(|d| d.valves.quoted_at = None);
        let new: Vec<_> = after.iter().filter(|line| !before.contains(line)).collect();
        assert_eq!(
            new,
            [
                "`valves.quoted_at` is not stated: 0 was taken (the lift at which events are quoted)."
            ]
        );
    }

    #[test]
    fn every_default_has_a_row_in_the_table_of_fields_and_can_be_left_out() {
        for (path, _) in DEFAULTS {
            assert!(default_taken(path).is_some(), "{path}");
        }
        let mut description = BENCH.engine().written().clone();
        description.crankshaft.rotation = None;
        description.pin_offset = None;
        description.cam_drive.marks_meet_at = None;
        description.cam_drive.links_between_marks = Some(20);
        if let Some(mark) = description.marks.first_mut() {
            mark.on = MarkOn::Flywheel;
        }
        description.valves.quoted_at = None;
        description.valves.measured_at = None;
        if let Some(clearance) = &mut description.clearance {
            clearance.valve_angle = None;
        }
        if let Some(distributor) = &mut description.distributor {
            (
                distributor.rotation,
                distributor.offset,
                distributor.coupling,
            ) = (None, None, None);
        }
        // Some bear only on engines that have the part.
        let scene = |name: &str| {
            scenes::find(name)
                .expect("a scene")
                .engine()
                .written()
                .clone()
        };
        let mut twin_cams = scene("twin_cam_four");
        if let Some(distributor) = &mut twin_cams.distributor {
            (distributor.shaft, distributor.camshaft) = (None, None);
        }
        let mut coils = scene("wasted_spark_twin");
        coils.ignition.sparks = None;
        coils.ignition.coils = Some(vec![vec![1], vec![2]]);
        let engines = [description, twin_cams, coils]
            .map(|description| Engine::new(description).expect("an engine").0);
        for (path, subjects) in DEFAULTS {
            let says: Vec<String> = engines
                .iter()
                .flat_map(|engine| engine.rests_on(subjects))
                .collect();
            assert!(
                says.iter()
                    .any(|line| line.starts_with(&format!("`{path}`"))),
                "{path}: {says:?}"
            );
        }
    }
}
