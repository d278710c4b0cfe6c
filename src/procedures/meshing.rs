//! A camshaft's wheel, or a distributor's geared shaft, put in mesh by hand: on which tooth it goes.
//!
//! With the crank at θ a camshaft as drawn stands at θ / 2. One that is held at φ goes in on the
//! tooth nearest to there: (φ − θ / 2) / (360 / cam_teeth), to the nearest whole number, teeth
//! ahead. Until a camshaft is in, nothing on the engine tells the crank's two turns apart: φ − θ / 2
//! is then as well 180° more or less, the fewer teeth count, and the camshaft settles which turn the
//! crank is on.

use crate::angle::{CamAngle, CamTurn, Clock, CrankAngle, CrankTurn, wrap_signed};
use crate::engine::Engine;
use crate::laws::{gear_train, ignition};

/// How a camshaft goes in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CamIn {
    /// The teeth by which its wheel is then ahead; negative, behind.
    pub teeth: i32,
    /// What the crank's count is put on by, so that it is the camshaft's: a turn, or nothing.
    pub crank: CrankTurn,
}

/// Lays a camshaft in that is held at `held`, with the crank at `crank`. `turn_is_known`: something
/// else that is in tells the crank's two turns apart.
///
/// ```
/// use dotwise::angle::{CamAngle, CrankAngle};
/// use dotwise::engine::scenes::BENCH;
/// use dotwise::procedures::meshing::lay_cam_in;
/// // Fifty teeth: one is 7.2° of the camshaft.
/// let held = CamAngle::new(-10.0);
/// assert_eq!(lay_cam_in(&BENCH.engine(), CrankAngle::new(0.0), held, true).teeth, -1);
/// ```
pub fn lay_cam_in(
    engine: &Engine,
    crank: CrankAngle,
    held: CamAngle,
    turn_is_known: bool,
) -> CamIn {
    let tooth = gear_train::cam_tooth(&engine.metric().cam_drive).degrees();
    let whole = wrap_signed(held.degrees() - crank.degrees() / 2.0, 360.0);
    let off = if turn_is_known {
        whole
    } else {
        wrap_signed(whole, 180.0)
    };
    let a_turn = (whole - off).abs() > 90.0;
    CamIn {
        teeth: (off / tooth).round() as i32,
        crank: CrankTurn::new(if a_turn { 360.0 } else { 0.0 }),
    }
}

/// Where a camshaft must be held to go in so many teeth ahead, with the crank at `crank`.
pub fn cam_to_go_in(engine: &Engine, crank: CrankAngle, teeth: i32) -> CamAngle {
    let tooth = gear_train::cam_tooth(&engine.metric().cam_drive).degrees();
    crank.at_cam() + CamTurn::new(tooth * f64::from(teeth))
}

/// The teeth by which a distributor's geared shaft is ahead that is let into mesh from `held`, where
/// its rotor would point; negative, behind. `as_drawn` is where the rotor points at this crank angle
/// with the shaft as drawn. None without such a shaft.
pub fn mesh_shaft(engine: &Engine, held: Clock, as_drawn: Clock) -> Option<i32> {
    let distributor = engine.metric().distributor.as_ref()?;
    if !distributor.is_on_geared_shaft() {
        return None;
    }
    // It turns on its way into mesh.
    let ends = Clock::new(held.degrees() + ignition::shaft_turns_on_entry_deg(distributor));
    let tooth = ignition::rotor_tooth(distributor).degrees();
    Some((ends.past(as_drawn, distributor.rotation()) / tooth).round() as i32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes;
    use crate::engine::scenes::{BENCH, SCENES};
    use crate::phasing::Phasing;

    #[test]
    fn a_camshaft_held_anywhere_goes_in_on_the_tooth_that_leaves_it_within_half_a_tooth() {
        for scene in &SCENES {
            let engine = scene.engine();
            let tooth = gear_train::cam_tooth(&engine.metric().cam_drive).degrees();
            for (crank, held) in [(0.0, 3.0), (100.0, 200.0), (360.0, 0.0), (719.0, 91.0)] {
                for known in [false, true] {
                    let (crank, held) = (CrankAngle::new(crank), CamAngle::new(held));
                    let way = lay_cam_in(&engine, crank, held, known);
                    let built = Phasing::as_built(
                        &engine,
                        &Assembly {
                            cam_teeth: way.teeth,
                            ..Assembly::default()
                        },
                    );
                    let stands = built.at(crank + way.crank).cam.degrees();
                    let moved = wrap_signed(stands - held.degrees(), 360.0);
                    assert!(moved.abs() <= tooth / 2.0 + 1e-9, "{}: {moved}", scene.name);
                    assert!(!known || way.crank.degrees() == 0.0);
                }
            }
        }
    }

    #[test]
    fn held_as_its_marks_ask_it_goes_in_as_drawn_on_either_turn_of_the_crank() {
        let engine = BENCH.engine();
        for crank in [0.0, 360.0] {
            let crank = CrankAngle::new(crank);
            let way = lay_cam_in(&engine, crank, CamAngle::new(0.0), false);
            assert_eq!(way.teeth, 0);
            assert_eq!((crank + way.crank).degrees(), 0.0);
        }
        // With a second camshaft in already, half a turn out is half a turn out.
        let out = lay_cam_in(&engine, CrankAngle::new(360.0), CamAngle::new(0.0), true);
        assert_eq!(
            out.teeth.unsigned_abs() * 2,
            engine.metric().cam_drive.cam_teeth
        );
    }

    #[test]
    fn a_camshaft_held_some_teeth_ahead_goes_in_as_many_ahead() {
        let engine = BENCH.engine();
        for teeth in [-7, -1, 0, 1, 2, 12] {
            let crank = CrankAngle::new(37.0);
            let held = cam_to_go_in(&engine, crank, teeth);
            assert_eq!(lay_cam_in(&engine, crank, held, false).teeth, teeth);
        }
    }

    #[test]
    fn a_geared_shaft_goes_in_on_the_tooth_it_is_held_at_less_what_it_turns_on_its_way() {
        let engine = scenes::find("tongue_and_shaft").expect("a scene").engine();
        let distributor = engine.metric().distributor.as_ref().expect("a distributor");
        let drawn = Phasing::as_drawn(&engine).at(CrankAngle::new(0.0));
        let drawn = drawn.rotor.expect("a rotor").clock;
        let tooth = ignition::rotor_tooth(distributor).degrees();
        let turns = ignition::shaft_turns_on_entry_deg(distributor);
        for teeth in [-2, 0, 1] {
            let ends = drawn.turned(distributor.rotation(), tooth * (f64::from(teeth) + 0.2));
            let held = Clock::new(ends.degrees() - turns);
            assert_eq!(mesh_shaft(&engine, held, drawn), Some(teeth));
        }
        assert_eq!(mesh_shaft(&BENCH.engine(), drawn, drawn), None);
    }
}
