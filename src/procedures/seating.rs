//! Seating the distributor's drive: on which tooth it engages, and how its rotor turns as it goes
//! down.
//!
//! With the crank at θ and the drive seated, as built otherwise, on its m-th tooth, the rotor
//! stands at number_one_at + s_d (offset + θ / 2 + m × 360 / driven_teeth). A helical drive gets
//! there by turning as it slides, so it engages that far back; of all the teeth it could engage on
//! it takes the one nearest to where its rotor is held. The crank's own angle is in this: with No.
//! 1 on overlap, the same drive seats half a turn out.

use crate::angle::{Clock, CrankAngle};
use crate::laws::ignition;
use crate::laws::ignition::DriveOut;
use crate::phasing::Phasing;

/// How far down the drive's teeth engage; above that it is free to turn.
pub const ENGAGES_AT: f64 = 0.5;

/// A drive that is out of the engine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RemovedDrive {
    /// Where its rotor points, looking down on the cap.
    pub rotor: Clock,
    /// How far down it is: 0 lifted clear, [`ENGAGES_AT`] where its teeth engage, 1 seated.
    pub down: f64,
}

impl RemovedDrive {
    /// Lifted clear, the rotor held so.
    pub fn held(rotor: Clock) -> Self {
        Self { rotor, down: 0.0 }
    }
}

/// A drive on its way down, from where its rotor is held to where it is seated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seating {
    held: Clock,
    /// How far its rotor is turned until its teeth find a gap, clockwise.
    to_start_deg: f64,
    /// How far it then turns as it seats, clockwise.
    turns_deg: f64,
    /// The teeth of its own drive, or of the geared shaft under it, by which the rotor then stands
    /// ahead.
    pub drive_teeth: i32,
    /// Whether its central tongue then stands half a turn out in a geared shaft.
    pub tongue_half_turn: bool,
}

/// Seats the drive from where its rotor is held, with the crank at `crank`. None without a
/// distributor.
pub fn seat_drive(phasing: &Phasing, crank: CrankAngle, held: Clock) -> Option<Seating> {
    let distributor = phasing.engine().metric().distributor.as_ref()?;
    let teeth = f64::from(distributor.driven_teeth);
    let seated_now = phasing.at(crank).rotor?.clock;
    let assembly = phasing.assembly();
    let on_shaft = distributor.is_on_geared_shaft();
    // What of the drive stays where it is: a geared shaft, and not the tongue in it.
    let stays = if on_shaft { assembly.drive_teeth } else { 0 };
    let own = DriveOut {
        teeth: assembly.drive_teeth - stays,
        half_turn: assembly.tongue_half_turn,
    };
    let seated = seated_now.turned(distributor.rotation(), -own.rotor(distributor).degrees());
    let start = ignition::entry_start(distributor, seated);
    let ways = f64::from(ignition::ways_to_engage(distributor));
    // The position of all those it could seat in that is nearest to where it is held.
    let way = (held.past(start, distributor.rotation()) * ways / 360.0).round();
    let engages = start.turned(distributor.rotation(), way * 360.0 / ways);
    Some(Seating {
        held,
        to_start_deg: engages.past(held, crate::angle::Direction::Clockwise),
        turns_deg: ignition::turns_on_entry_deg(distributor),
        // Of thirteen teeth seven behind are six ahead.
        drive_teeth: if on_shaft {
            stays
        } else {
            crate::angle::wrap_signed((way * teeth / ways).round(), teeth) as i32
        },
        tongue_half_turn: on_shaft && way.rem_euclid(ways) != 0.0,
    })
}

impl Seating {
    /// Where rotor and drive stand so far down.
    pub fn at(&self, down: f64) -> RemovedDrive {
        let down = down.clamp(0.0, 1.0);
        let (free, slid) = (
            (down / ENGAGES_AT).min(1.0),
            ((down - ENGAGES_AT) / (1.0 - ENGAGES_AT)).max(0.0),
        );
        RemovedDrive {
            rotor: Clock::new(
                self.held.degrees() + self.to_start_deg * free + self.turns_deg * slid,
            ),
            down,
        }
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;
    use crate::angle::{CrankTurn, Direction};
    use crate::engine::Assembly;
    use crate::engine::scenes;
    use crate::engine::scenes::SCENES;
    use crate::procedures::dropin;

    #[test]
    fn seated_from_anywhere_it_ends_where_the_engine_so_built_has_its_rotor() {
        let engines = SCENES.iter().map(scenes::Scene::engine);
        let engines: Vec<_> = engines
            .filter(|engine| engine.metric().distributor.is_some())
            .collect();
        assert!(engines.len() >= 8, "{} with a distributor", engines.len());
        for engine in engines {
            for built in [
                Assembly::default(),
                Assembly {
                    cam_teeth: 1,
                    ..Assembly::default()
                },
            ] {
                let phasing = Phasing::as_built(&engine, &built);
                for (crank, held) in [(0.0, 10.0), (137.0, 200.0), (360.0, 300.0), (719.0, 77.0)] {
                    let crank = CrankAngle::new(crank);
                    let down =
                        seat_drive(&phasing, crank, Clock::new(held)).expect("a distributor");
                    let built = Phasing::as_built(
                        &engine,
                        &Assembly {
                            drive_teeth: down.drive_teeth,
                            tongue_half_turn: down.tongue_half_turn,
                            ..built.clone()
                        },
                    );
                    let rotor = built.at(crank).rotor.expect("a rotor").clock;
                    assert_abs_diff_eq!(
                        down.at(1.0).rotor.past(rotor, Direction::Clockwise),
                        0.0,
                        epsilon = 1e-6
                    );
                    assert_abs_diff_eq!(
                        down.at(0.0)
                            .rotor
                            .past(Clock::new(held), Direction::Clockwise),
                        0.0,
                        epsilon = 1e-9
                    );
                }
            }
        }
    }

    #[test]
    fn held_at_its_start_on_overlap_it_seats_half_a_turn_out() {
        for name in ["bench_four", "helical_drop", "flat_four"] {
            let engine = scenes::find(name).expect("a scene").engine();
            let phasing = Phasing::as_drawn(&engine);
            let start = dropin(&phasing).expect("a distributor").rotor_start;
            let teeth = engine
                .metric()
                .distributor
                .as_ref()
                .expect("a distributor")
                .driven_teeth as f64;
            assert_eq!(
                seat_drive(&phasing, CrankAngle::new(0.0), start).map(|down| down.drive_teeth),
                Some(0)
            );
            let on_overlap = seat_drive(&phasing, CrankAngle::new(360.0), start)
                .expect("a distributor")
                .drive_teeth;
            // An odd count of teeth has no half turn: it takes the nearest.
            assert!(
                (f64::from(on_overlap.abs()) - teeth / 2.0).abs() <= 0.5,
                "{name}: {on_overlap} of {teeth}"
            );
        }
    }

    #[test]
    fn a_helical_drive_turns_only_once_its_teeth_engage() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let start = dropin(&phasing).expect("a distributor").rotor_start;
        let down = seat_drive(&phasing, CrankAngle::new(0.0), start).expect("a distributor");
        let turned = |at: f64| down.at(at).rotor.past(start, Direction::Clockwise);
        assert_abs_diff_eq!(turned(ENGAGES_AT), 0.0, epsilon = 1e-9);
        assert_abs_diff_eq!(turned(0.75), -14.0, epsilon = 1e-9);
        assert_abs_diff_eq!(turned(1.0), -28.0, epsilon = 1e-9);
        assert_eq!(down.at(7.0), down.at(1.0));
    }

    #[test]
    fn a_tongue_off_the_centre_finds_its_one_way_from_wherever_it_is_held() {
        let engine = scenes::find("parallel_twin").expect("a scene").engine();
        let phasing = Phasing::as_drawn(&engine);
        for held in [0.0, 100.0, 181.0, 270.0] {
            let at = CrankAngle::new(0.0) + CrankTurn::new(90.0);
            assert_eq!(
                seat_drive(&phasing, at, Clock::new(held)).map(|down| down.drive_teeth),
                Some(0)
            );
        }
    }
}
