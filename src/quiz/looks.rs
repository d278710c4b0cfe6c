//! What can be seen of how an engine was put together, by which one fault is told from another.

use serde::Serialize;

use crate::angle::CrankAngle;
use crate::phasing::Phasing;

/// What differs from as drawn, in hundredths of a degree: fault and fault are compared as whole
/// numbers, in the program and in the handout's script.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Looks {
    /// Crank degrees by which each camshaft's wheel is ahead, a hundred to one.
    cams: Vec<i64>,
    /// Degrees by which the rotor is ahead in its own direction, 0 ≤ d < 360, a hundred to one.
    rotor: i64,
    /// Degrees by which the distributor's body is turned against it, a hundred to one.
    body: i64,
    /// Cylinder numbers as their leads are plugged.
    leads: Vec<u8>,
}

impl Looks {
    /// Those of an engine as built.
    pub(crate) fn of(built: &Phasing) -> Self {
        let hundredths = |degrees: f64| (degrees * 100.0).round() as i64;
        let engine = built.engine();
        let rotor = |phasing: &Phasing| phasing.at(CrankAngle::new(0.0)).rotor;
        let drawn = rotor(&Phasing::as_drawn(engine));
        let distributor = engine.metric().distributor.as_ref();
        let ahead = distributor
            .zip(rotor(built).zip(drawn))
            .map_or(0.0, |(distributor, (now, drawn))| {
                now.clock.past(drawn.clock, distributor.rotation())
            });
        Self {
            cams: (0..engine.camshaft_count())
                .map(|camshaft| hundredths(built.cam_ahead(camshaft).at_crank().degrees()))
                .collect(),
            rotor: hundredths(ahead).rem_euclid(36_000),
            body: hundredths(built.assembly().body_turn_deg),
            leads: built.leads().to_vec(),
        }
    }
}
