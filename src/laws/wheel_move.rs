//! The cam wheel moved by teeth while the crank stands: where to stand the crank so that no valve
//! is in the way.
//!
//! While the wheel is moved the crank and every piston stand still and the camshaft goes from where
//! it was to where it belongs, past every place between. A valve whose phase goes from α₁ to α₂ is
//! lifted most at its lobe's centre, where that lies between, and else at one of the ends; so the
//! least room over the move is drop_TDC + drop(α) / cos(valve angle) − that lift, the least of
//! every cylinder's two valves. Midway between dead centres every piston is well down, and no valve
//! reaches one, however the camshaft stands.
//!
//! The crank is turned there with the wheel still wrong, and back to its marks with it right: both
//! ways are looked at too.

use super::clearance::least_allowed_mm;
use super::gear_train::{self, CamTeeth};
use super::{Lobe, Lobes, SliderCrank};
use crate::angle::{CrankAngle, wrap};
use crate::description::{Clearance, Description, Valve};
use crate::words::Units;

/// Crank degrees between two places that are looked at on the way.
const STEP_DEG: f64 = 1.0;

/// Where to stand the crank to move the cam wheel, and how much room there is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WheelMove {
    /// How far to turn the crank from where the marks meet, crank degrees: on, or negative, back.
    /// −180 ≤ t ≤ 180.
    pub turn_deg: f64,
    /// Where it then stands.
    pub crank: CrankAngle,
    /// How far down the highest piston stands there, millimetres.
    pub pistons_down_mm: f64,
    /// The least room between a valve and its piston while the wheel is moved there, millimetres.
    /// Where no clearance was measured, every valve is taken to touch its piston at TDC.
    pub room_mm: f64,
    /// The least room while the crank is turned there from where the marks meet with the wheel
    /// wrong, the wheel moved, and the crank turned back with it right; negative where a valve is
    /// in the way. None where no clearance was measured.
    pub whole_room_mm: Option<f64>,
}

impl WheelMove {
    /// Whether the wheel can be moved there without a valve in the way: with the room that common
    /// practice asks for of a running engine, the exhaust's for both valves.
    pub fn is_clear(&self) -> bool {
        self.room_mm >= least_allowed_mm(Valve::Exhaust, Units::Millimetres)
    }

    /// Whether a valve meets its piston on the way from where the marks meet, or back to there.
    pub fn is_barred(&self) -> bool {
        self.whole_room_mm.is_some_and(|room_mm| room_mm <= 0.0)
    }
}

/// What there is room between.
struct Room<'a> {
    measured: Option<&'a Clearance>,
    slider: SliderCrank,
    lobes: Lobes,
    cylinders: Vec<Cylinder>,
}

/// One cylinder's valves while the wheels are moved.
struct Cylinder {
    /// The crank angle at which it fires.
    fires: f64,
    /// How far ahead of the card its intake and its exhaust valve stand with the wheels wrong,
    /// crank degrees.
    wrong: [f64; 2],
    /// The same with them right.
    right: [f64; 2],
}

/// How the wheels stand.
#[derive(Clone, Copy, Debug)]
enum Wheels {
    Wrong,
    Right,
}

impl Cylinder {
    fn ahead(&self, wheels: Wheels) -> [f64; 2] {
        match wheels {
            Wheels::Wrong => self.wrong,
            Wheels::Right => self.right,
        }
    }
}

impl<'a> Room<'a> {
    /// With the wheels of an engine so described `cams` ahead of as drawn.
    fn of(metric: &'a Description, firing_angles: &[f64], cams: CamTeeth) -> Self {
        let cylinders = metric.firing_order.iter().zip(firing_angles);
        Self {
            measured: metric.clearance.as_ref(),
            slider: SliderCrank::of(metric),
            lobes: Lobes::of(&metric.valves),
            cylinders: cylinders
                .map(|(&number, &fires)| {
                    let ahead = |cams: CamTeeth| {
                        Valve::BOTH.map(|valve| {
                            let camshaft = metric.camshaft_of(number, valve);
                            gear_train::valves_ahead(metric, camshaft, cams).degrees()
                        })
                    };
                    Cylinder {
                        fires,
                        wrong: ahead(cams),
                        right: ahead(CamTeeth::default()),
                    }
                })
                .collect(),
        }
    }

    /// How far down the highest piston stands.
    fn pistons_down_mm(&self, crank_deg: f64) -> f64 {
        let down = |cylinder: &Cylinder| self.slider.drop_mm(crank_deg - cylinder.fires);
        self.cylinders
            .iter()
            .map(down)
            .fold(f64::INFINITY, f64::min)
    }

    /// The least room with the crank standing and the camshafts going from one way to another.
    fn least_mm(&self, crank_deg: f64, from: Wheels, to: Wheels) -> f64 {
        let slope = self
            .measured
            .map_or(1.0, |measured| measured.valve_angle().to_radians().cos());
        let valve = |lobe: &Lobe, drop_mm: f64, phase: f64, from_ahead: f64, to_ahead: f64| {
            drop_mm + self.slider.drop_mm(phase) / slope
                - lobe.most_lift_mm(phase + from_ahead, phase + to_ahead)
        };
        let drop_mm = |valve: Valve| {
            self.measured.map_or(0.0, |measured| match valve {
                Valve::Intake => measured.intake_drop,
                Valve::Exhaust => measured.exhaust_drop,
            })
        };
        let room = |cylinder: &Cylinder| {
            let phase = wrap(crank_deg - cylinder.fires, 720.0);
            let ([intake_from, exhaust_from], [intake_to, exhaust_to]) =
                (cylinder.ahead(from), cylinder.ahead(to));
            let (intake, exhaust) = (&self.lobes.intake, &self.lobes.exhaust);
            let intake = valve(
                intake,
                drop_mm(Valve::Intake),
                phase,
                intake_from,
                intake_to,
            );
            let exhaust = valve(
                exhaust,
                drop_mm(Valve::Exhaust),
                phase,
                exhaust_from,
                exhaust_to,
            );
            intake.min(exhaust)
        };
        self.cylinders
            .iter()
            .map(room)
            .fold(f64::INFINITY, f64::min)
    }

    /// The least room with the crank turned from one place by so much, the wheels standing so.
    fn least_on_the_way_mm(&self, from_deg: f64, turn_deg: f64, wheels: Wheels) -> f64 {
        let steps = (turn_deg.abs() / STEP_DEG).ceil().max(1.0);
        (0..=steps as u32)
            .map(|step| from_deg + turn_deg * f64::from(step) / steps)
            .map(|crank_deg| self.least_mm(crank_deg, wheels, wheels))
            .fold(f64::INFINITY, f64::min)
    }
}

/// Where to stand the crank to move the cam wheels from `cams` ahead back to as drawn.
///
/// Midway between dead centres, where every piston is farthest down: of such places the nearest to
/// where the marks meet that the crank can be turned to, on rather than back. Where pistons stand
/// too close behind one another for that, wherever there is most room.
///
/// ```
/// use dotwise::engine::scenes::BENCH;
/// use dotwise::laws::{gear_train, wheel_move};
/// let engine = BENCH.engine();
/// let behind = gear_train::CamTeeth::default().with(0, -1);
/// let found = wheel_move::place(engine.metric(), engine.firing_angles(), behind);
/// // A four's pistons are level a quarter of a turn after its marks.
/// assert_eq!(found.turn_deg, 90.0);
/// assert!(found.is_clear() && !found.is_barred());
/// ```
pub fn place(metric: &Description, firing_angles: &[f64], cams: CamTeeth) -> WheelMove {
    let room = Room::of(metric, firing_angles, cams);
    let marks_deg = metric.cam_drive.marks_meet_at();
    let turns = (-180..=180).map(f64::from);
    let down = |turn_deg: f64| room.pistons_down_mm(marks_deg + turn_deg);
    let farthest_mm = turns.clone().map(down).fold(0.0, f64::max);
    // Places whose pistons stand alike are told apart by a degree or so of an offset pin.
    let level = |turn_deg: &f64| {
        let here_mm = down(*turn_deg);
        here_mm >= 0.98 * farthest_mm
            && here_mm >= down(turn_deg - 1.0)
            && here_mm >= down(turn_deg + 1.0)
    };
    let there = |turn_deg: f64| {
        let crank_deg = marks_deg + turn_deg;
        let room_mm = room.least_mm(crank_deg, Wheels::Wrong, Wheels::Right);
        let on_the_way = || {
            let there_mm = room.least_on_the_way_mm(marks_deg, turn_deg, Wheels::Wrong);
            there_mm.min(room.least_on_the_way_mm(marks_deg, turn_deg, Wheels::Right))
        };
        WheelMove {
            turn_deg,
            crank: CrankAngle::new(crank_deg),
            pistons_down_mm: down(turn_deg),
            room_mm,
            whole_room_mm: room.measured.map(|_| room_mm.min(on_the_way())),
        }
    };
    // The nearest first, on before back; one that the way to is barred is the last choice.
    let mut nearest: Vec<f64> = turns.clone().filter(level).collect();
    nearest.sort_by(|one, other| {
        let nearer = one.abs().total_cmp(&other.abs());
        nearer.then(other.total_cmp(one))
    });
    let clear = || {
        let places = nearest.iter().copied().map(there);
        places.filter(WheelMove::is_clear)
    };
    let open = clear().find(|found| !found.is_barred());
    open.or_else(|| clear().next()).unwrap_or_else(|| {
        let most = turns
            .max_by(|one, other| {
                let room_mm = |turn_deg: &f64| {
                    room.least_mm(marks_deg + turn_deg, Wheels::Wrong, Wheels::Right)
                };
                room_mm(one).total_cmp(&room_mm(other))
            })
            .unwrap_or(0.0);
        there(most)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::{self, SCENES};

    /// The least room of every valve, by trying every tenth of a degree of the first camshaft's
    /// move.
    fn tried(metric: &Description, fires: &[f64], crank_deg: f64, from: f64, to: f64) -> f64 {
        let (slider, lobes) = (SliderCrank::of(metric), Lobes::of(&metric.valves));
        let steps = 2000;
        let mut least = f64::INFINITY;
        for (fires, number) in fires.iter().zip(&metric.firing_order) {
            let phase = crank_deg - fires;
            for step in 0..=steps {
                let moved = from + (to - from) * f64::from(step) / f64::from(steps);
                for valve in Valve::BOTH {
                    let camshaft = metric.camshaft_of(*number, valve);
                    let trim = 2.0 * metric.trim_of(camshaft).degrees();
                    let ahead = trim + if camshaft == 0 { moved } else { 0.0 };
                    let (drop, angle) = metric.clearance.as_ref().map_or((0.0, 0.0), |measured| {
                        let drop = match valve {
                            Valve::Intake => measured.intake_drop,
                            Valve::Exhaust => measured.exhaust_drop,
                        };
                        (drop, measured.valve_angle())
                    });
                    let down = slider.drop_mm(phase) / angle.to_radians().cos();
                    least = f64::min(
                        least,
                        drop + down - lobes.lobe(valve).lift_mm(phase + ahead),
                    );
                }
            }
        }
        least
    }

    #[test]
    fn the_room_of_a_move_is_what_trying_every_place_of_it_gives() {
        for scene in &SCENES {
            let engine = scene.engine();
            let (metric, fires) = (engine.metric(), engine.firing_angles());
            let tooth = gear_train::crank_per_cam_tooth(&metric.cam_drive).degrees();
            for teeth in [-4, -1, 1, 2, 4] {
                let cams = CamTeeth::default().with(0, teeth);
                let found = place(metric, fires, cams);
                let ahead = f64::from(teeth) * tooth;
                let at = metric.cam_drive.marks_meet_at() + found.turn_deg;
                let room = tried(metric, fires, at, ahead, 0.0);
                assert!(
                    (found.room_mm - room).abs() < 1e-3,
                    "{}: {found:?} {room}",
                    scene.name
                );
                let Some(whole) = found.whole_room_mm else {
                    continue;
                };
                // Turned there in steps of a twentieth of a degree, and back.
                let steps = (found.turn_deg.abs() * 20.0) as i32;
                let way = (0..=steps).map(|step| {
                    let crank = metric.cam_drive.marks_meet_at()
                        + found.turn_deg * f64::from(step) / f64::from(steps.max(1));
                    let room = Room::of(metric, fires, cams);
                    let one = |wheels| room.least_mm(crank, wheels, wheels);
                    one(Wheels::Wrong).min(one(Wheels::Right))
                });
                let way = way.fold(room, f64::min);
                assert!(
                    (whole - way).abs() < 0.02,
                    "{}: {found:?} {way}",
                    scene.name
                );
            }
        }
    }

    #[test]
    fn the_crank_stands_midway_between_dead_centres() {
        // Throws half, a third and a quarter of a turn apart: 90°, 60° and 45° from a dead centre.
        for (scene, turn_deg) in [
            ("bench_four", 90.0),
            ("flat_four", 90.0),
            ("three", 60.0),
            ("inline_six", 60.0),
            ("vee_eight", 45.0),
            ("single", 180.0),
        ] {
            let engine = scenes::find(scene).expect("a scene").engine();
            let found = place(
                engine.metric(),
                engine.firing_angles(),
                CamTeeth::default().with(0, 1),
            );
            let from_tdc = metric_turn(found.crank.degrees(), engine.firing_angles());
            assert!((from_tdc - turn_deg).abs() <= 1.0, "{scene}: {found:?}");
            assert!(found.is_clear(), "{scene}: {found:?}");
        }
    }

    /// Crank degrees to the nearest TDC of any cylinder.
    fn metric_turn(crank_deg: f64, fires: &[f64]) -> f64 {
        fires
            .iter()
            .map(|fires| crate::angle::wrap_signed(crank_deg - fires, 360.0).abs())
            .fold(360.0, f64::min)
    }

    #[test]
    fn a_way_that_a_valve_bars_is_not_taken_where_another_is_open() {
        // With 3.5 mm at the intake and the camshaft three teeth ahead, No. 4's intake meets its
        // piston just past the marks, and not before them.
        let engine = scenes::BENCH.engine();
        let mut metric = engine.metric().clone();
        metric.clearance.as_mut().expect("measured").intake_drop = 3.5;
        let found = place(
            &metric,
            engine.firing_angles(),
            CamTeeth::default().with(0, 3),
        );
        assert_eq!(
            (found.turn_deg, found.is_barred()),
            (-90.0, false),
            "{found:?}"
        );
        // Four teeth ahead they meet at the marks themselves: no way there is open, and the place
        // is as clear as before.
        let found = place(
            &metric,
            engine.firing_angles(),
            CamTeeth::default().with(0, 4),
        );
        assert!(found.is_clear() && found.is_barred(), "{found:?}");
    }

    #[test]
    fn an_engine_whose_pistons_are_never_all_down_is_said_not_to_be_clear() {
        // A six of 120° with a stroke of 20 mm: at 60° its pistons are little more than 5 mm down,
        // under valves of 9.5 mm.
        let engine = scenes::find("inline_six").expect("a scene").engine();
        let mut metric = engine.metric().clone();
        (metric.crankshaft.stroke, metric.clearance) = (20.0, None);
        let found = place(
            &metric,
            engine.firing_angles(),
            CamTeeth::default().with(0, 4),
        );
        assert!(!found.is_clear(), "{found:?}");
    }
}
