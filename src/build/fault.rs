//! A wrong assembly said in a sentence a builder uses.

use super::Assembly;
use super::hypotheses::LeadsFault;
use crate::angle::Direction;
use crate::engine::Engine;
use crate::engine::description::Coupling;
use crate::sheet::text::degrees;

/// `one`, `two`, … as a builder writes them.
pub(crate) fn count_word(count: u32) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(count as usize)
        .map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

/// `one tooth`, `three teeth`.
pub(crate) fn teeth(count: i32) -> String {
    let count = count.unsigned_abs();
    format!(
        "{} {}",
        count_word(count),
        if count == 1 { "tooth" } else { "teeth" }
    )
}

/// `one tower`, `three towers`.
pub(crate) fn towers(count: i32) -> String {
    let count = count.unsigned_abs();
    format!(
        "{} {}",
        count_word(count),
        if count == 1 { "tower" } else { "towers" }
    )
}

/// Which way a body is turned, `turn_deg` against the rotor's rotation, looking down on it.
pub(crate) fn body_way(rotation: Direction, turn_deg: f64) -> String {
    if turn_deg >= 0.0 {
        format!(
            "{}, against the rotor's rotation",
            rotation.reversed().word()
        )
    } else {
        format!("{}, with the rotor's rotation", rotation.word())
    }
}

/// What is out, in one sentence.
///
/// ```
/// use dotwise::build::{Assembly, fault};
/// use dotwise::engine::scenes::BENCH;
/// let assembly = Assembly { drive_teeth: -1, ..Assembly::default() };
/// assert_eq!(fault::says(&BENCH.engine(), &assembly), "The distributor drive is one tooth behind.");
/// ```
pub fn says(engine: &Engine, assembly: &Assembly) -> String {
    let mut parts = Vec::new();
    if assembly.cam_teeth != 0 {
        let way = if assembly.cam_teeth > 0 {
            "ahead (advanced)"
        } else {
            "behind (retarded)"
        };
        parts.push(format!(
            "the camshaft is {} {way}",
            teeth(assembly.cam_teeth)
        ));
    }
    if let Some(distributor) = &engine.metric().distributor {
        let way = if assembly.drive_teeth > 0 {
            "ahead"
        } else {
            "behind"
        };
        let half = assembly.drive_teeth.unsigned_abs() * 2 == distributor.driven_teeth;
        match distributor.coupling {
            _ if assembly.drive_teeth == 0 => {}
            Coupling::CentralTongue if half => {
                parts.push("the distributor's tongue went home half a turn out".into())
            }
            _ if half => parts.push(format!(
                "the distributor drive is half a turn out ({})",
                teeth(assembly.drive_teeth)
            )),
            _ => parts.push(format!(
                "the distributor drive is {} {way}",
                teeth(assembly.drive_teeth)
            )),
        }
        let order = engine.firing_order();
        match assembly
            .leads
            .as_ref()
            .map_or(LeadsFault::AsDrawn, |leads| LeadsFault::of(order, leads))
        {
            LeadsFault::AsDrawn => {}
            LeadsFault::MovedRound(moved) if moved.unsigned_abs() as usize * 2 == order.len() => {
                parts.push("the leads are plugged half-way round the cap".into());
            }
            LeadsFault::MovedRound(moved) => {
                let way = if moved > 0 {
                    "on, in the rotor's direction"
                } else {
                    "back, against the rotor's direction"
                };
                parts.push(format!("the leads are plugged {} {way}", towers(moved)));
            }
            LeadsFault::ChangedOver(one, other) => parts.push(format!(
                "the leads of No. {one} and No. {other} are changed over"
            )),
            LeadsFault::Mixed(_) => parts.push("the leads are mixed up".into()),
        }
        if assembly.body_turn_deg != 0.0 {
            let way = body_way(distributor.rotation, assembly.body_turn_deg);
            parts.push(format!(
                "the body stands turned {} {way}",
                degrees(assembly.body_turn_deg.abs())
            ));
        }
    }
    match parts.split_last() {
        None => "Everything is as drawn.".into(),
        Some((last, [])) => format!("{}.", capitalised(last)),
        Some((last, before)) => format!("{}, and {last}.", capitalised(&before.join(", "))),
    }
}

/// With a capital first letter.
pub(crate) fn capitalised(text: &str) -> String {
    let mut characters = text.chars();
    characters
        .next()
        .map(|first| first.to_uppercase().chain(characters).collect())
        .unwrap_or_default()
}
