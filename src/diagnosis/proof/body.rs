//! What a turn of the distributor's body could have made up for: a proof allows for it, a diagnosis
//! believes what is stated.

use super::look::ProofLook;
use crate::diagnosis::observations::{Observation, Observations};
use crate::engine::Engine;
use crate::words::degrees;

/// The clamp's range that is taken where none is stated, rotor degrees either way. Common practice,
/// no source.
const CLAMP_DEG: f64 = 20.0;

/// How far the distributor's body may stand turned either way, rotor degrees, where no turn of it is
/// stated: as far as its clamp lets it, for a lamp that lights where it should has had it turned.
pub(super) fn body_may_be_turned_deg(engine: &Engine, seen: &Observations) -> f64 {
    match &engine.metric().distributor {
        Some(distributor) if seen.body_turn == 0.0 => distributor.body_range.unwrap_or(CLAMP_DEG),
        _ => 0.0,
    }
}

/// What was seen with what the body could have made up for within its reading: it moves every tower,
/// and twice as much, in crank degrees, every spark.
pub(super) fn by_any_body(engine: &Engine, seen: &Observations, body_deg: f64) -> Observations {
    let mut seen = seen.clone();
    let from_tower_to_tower = 360.0 / engine.cylinder_count() as f64;
    for sighting in &mut seen.sightings {
        if let Some(spark) = &mut sighting.spark {
            spark.within += 2.0 * body_deg;
        }
        if let Some(rotor) = &mut sighting.rotor
            && rotor.tower.is_some()
            && body_deg > 0.0
        {
            rotor.within = Some(rotor.within.unwrap_or(from_tower_to_tower) + body_deg);
        }
    }
    seen
}

/// What a proof takes for the distributor's clamp, in a sentence, where a spark or a tower was or is
/// to be looked at and its range is not stated; None where nothing rests on that.
pub fn clamp_taken(engine: &Engine, seen: &Observations, looks: &[ProofLook]) -> Option<String> {
    let distributor = engine.metric().distributor.as_ref()?;
    let mut all = looks.iter().map(|look| &look.seen).chain(&seen.sightings);
    let rests_on_it = distributor.body_range.is_none()
        && body_may_be_turned_deg(engine, seen) > 0.0
        && all.any(shows_by_the_body);
    rests_on_it.then(|| {
        format!(
            "`distributor.body_range` is not stated: that the body may stand turned by up to {} either way was taken.",
            degrees(CLAMP_DEG)
        )
    })
}

/// Whether a turn of the distributor's body shows in a sighting.
fn shows_by_the_body(seen: &Observation) -> bool {
    let by_a_tower = seen.rotor.is_some_and(|rotor| rotor.tower.is_some());
    seen.spark.is_some() || by_a_tower
}

/// What a diagnosis takes for the distributor's body, in a sentence, where something that was seen
/// shows by it and no turn of it is stated; None where nothing rests on that.
pub fn body_not_turned(engine: &Engine, seen: &Observations) -> Option<String> {
    let rests_on_it = engine.metric().distributor.is_some()
        && seen.body_turn == 0.0
        && seen.sightings.iter().any(shows_by_the_body);
    rests_on_it.then(|| {
        "`body_turn` is not stated, or 0: the distributor's body was taken never to have been turned. Turned, it moves every tower and \
         every spark, as teeth out do."
            .to_owned()
    })
}
