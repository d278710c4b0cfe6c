//! The crankshaft's own marks with No. 1 at TDC: on its pulley or gear, and on its flywheel.
//!
//! They tell where the crank stands within its turn and never which turn it is on. Where both pulley
//! and flywheel carry one, each is a witness to the other: a pulley whose rim has crept, or a
//! flywheel that was bolted on in another place, shows.

use serde::Serialize;

use crate::angle::{Clock, CrankAngle, wrap_signed};
use crate::description::MarkOn;
use crate::phasing::Phasing;
use crate::words::{degrees, past, serialize_rounded_option};

/// One of the crankshaft's marks, No. 1 at TDC.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CrankMark {
    /// What it looks like.
    pub name: String,
    /// Whether it is on the flywheel.
    pub on_flywheel: bool,
    /// Where it stands, seen from the front.
    #[serde(rename = "clock_deg")]
    pub clock: Clock,
    /// Where the pointer stands at which it is read, seen from the front; None where it is read at
    /// none.
    #[serde(rename = "pointer_clock_deg")]
    pub pointer: Option<Clock>,
    /// How far it is past that pointer, in the running direction.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub past_pointer_deg: Option<f64>,
}

impl CrankMark {
    /// What it shows, in a sentence.
    pub fn shows(&self) -> String {
        let wheel = if self.on_flywheel {
            " on the flywheel"
        } else {
            ""
        };
        match (self.pointer, self.past_pointer_deg) {
            (Some(pointer), Some(past_deg)) => format!(
                "The {}{wheel} stands {} its pointer, which is at {}, clockwise from straight up seen from the front.",
                self.name,
                past(past_deg, 2),
                degrees(pointer.degrees())
            ),
            _ => format!(
                "The {} stands at {}, clockwise from straight up seen from the front.",
                self.name,
                degrees(self.clock.degrees())
            ),
        }
    }
}

/// The mark that tells No. 1's TDC at the crankshaft's front, and every mark on its flywheel.
pub fn crank_marks(phasing: &Phasing) -> Vec<CrankMark> {
    let marks = &phasing.engine().written().marks;
    let of = |on: MarkOn| {
        let marks = marks.iter().enumerate();
        marks.filter(move |(_, mark)| mark.on == on)
    };
    // A mark along No. 1's bore, or straight up, is the one for its TDC; any other only stands
    // where it stands.
    let bore = phasing.cylinder(1).map_or(0.0, |one| one.bank.degrees());
    let front = of(MarkOn::Crankshaft)
        .find(|(_, mark)| {
            [0.0, bore]
                .iter()
                .any(|up| wrap_signed(mark.at - up, 360.0).abs() < 1.0)
        })
        .or_else(|| of(MarkOn::Crankshaft).next());
    let reading = phasing.at(CrankAngle::new(0.0));
    front
        .into_iter()
        .chain(of(MarkOn::Flywheel))
        .filter_map(|(index, mark)| {
            Some(CrankMark {
                name: mark.name.clone(),
                on_flywheel: mark.on == MarkOn::Flywheel,
                clock: *reading.marks.get(index)?,
                pointer: mark.pointer_at().map(Clock::new),
                past_pointer_deg: phasing.past_pointer_deg(index, &reading),
            })
        })
        .collect()
}

/// What it means where these marks do not say the same; None unless both ends of the crankshaft
/// carry one.
pub fn two_ends(marks: &[CrankMark]) -> Option<&'static str> {
    let on_both =
        marks.iter().any(|mark| mark.on_flywheel) && marks.iter().any(|mark| !mark.on_flywheel);
    on_both.then_some(
        "Both ends of the crank must say so together: where they do not, pulley or flywheel has moved or was bolted on elsewhere, so find TDC with a positive stop.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::description::Mark;
    use crate::engine::{Engine, scenes};

    fn with(marks: &[(MarkOn, &str, f64, Option<f64>)]) -> Phasing {
        let mut description = scenes::BENCH.engine().written().clone();
        description.marks = marks
            .iter()
            .map(|&(on, name, at, pointer_at)| Mark {
                on,
                name: name.to_owned(),
                at,
                pointer_at,
            })
            .collect();
        let (engine, _) = Engine::new(description).expect("an engine");
        Phasing::as_drawn(&engine)
    }

    #[test]
    fn a_flywheels_mark_is_read_where_its_pointer_stands_and_the_pulleys_beside_it() {
        let phasing = with(&[
            (MarkOn::Crankshaft, "pulley notch", 0.0, None),
            (MarkOn::Flywheel, "rim dot", 180.0, None),
            (MarkOn::Flywheel, "F", 70.0, Some(90.0)),
        ]);
        let marks = crank_marks(&phasing);
        let shows: Vec<_> = marks.iter().map(CrankMark::shows).collect();
        assert_eq!(
            shows,
            [
                "The pulley notch stands at 0°, clockwise from straight up seen from the front.",
                "The rim dot on the flywheel stands on its pointer, which is at 180°, clockwise from straight up seen from the front.",
                "The F on the flywheel stands 20° short of its pointer, which is at 90°, clockwise from straight up seen from the front.",
            ]
        );
        assert!(two_ends(&marks).is_some());
        assert!(two_ends(&marks[1..]).is_none() && two_ends(&marks[..1]).is_none());
    }
}
