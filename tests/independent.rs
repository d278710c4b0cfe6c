//! The same sums by other roads: tables that SciPy wrote (`tests/independent/reckon.py` stands
//! beside them), and a crank, rod and piston built of bodies and joints in rapier2d, which knows
//! nothing of cranks.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use std::path::Path;

use approx::assert_abs_diff_eq;
use dotwise::angle::CrankTurn;
use dotwise::description::{Clearance, Description, Valve, Valves};
use dotwise::engine::scenes;
use dotwise::laws::{Lobe, Lobes, MeasuredLift, SliderCrank, clearance};
use rapier2d_f64::prelude::*;

/// The rows of a table of numbers beside this file.
fn rows<const N: usize>(name: &str) -> Vec<[f64; N]> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/independent")
        .join(name);
    let mut reader = csv::Reader::from_path(path).expect("the table is there");
    let row = |record: csv::StringRecord| {
        let numbers: Vec<f64> = record
            .iter()
            .map(|field| field.parse().expect("a number"))
            .collect();
        numbers.try_into().expect("as many columns")
    };
    reader
        .records()
        .map(|record| row(record.expect("a row")))
        .collect()
}

#[test]
fn pistons_stand_where_loop_closure_solved_by_scipy_puts_them() {
    let table = rows::<7>("piston.csv");
    assert!(table.len() > 100);
    for [stroke, rod, offset, tdc, down, phase, drop] in table {
        let slider = SliderCrank::new(stroke, rod, offset);
        assert_abs_diff_eq!(slider.drop_mm(phase), drop, epsilon = 1e-8);
        assert_abs_diff_eq!(slider.tdc_deg(), tdc, epsilon = 1e-8);
        assert_abs_diff_eq!(slider.down_stroke_deg(), down, epsilon = 1e-8);
    }
}

#[test]
fn valves_lift_as_the_law_solved_from_its_ends_by_scipy_says() {
    let table = rows::<7>("lift.csv");
    assert!(table.len() > 100);
    for [opens, closes, full, quoted, seat, phase, value] in table {
        let lobe = Lobe::between(opens, closes, full, quoted);
        assert_abs_diff_eq!(lobe.lift_mm(phase), value, epsilon = 1e-8);
        assert_abs_diff_eq!(lobe.seat_duration_deg(), seat, epsilon = 1e-5);
    }
}

/// The invented lobes whose points stand beside this file.
fn measured_lobes() -> Vec<MeasuredLift> {
    let points = rows::<3>("measured_points.csv");
    (0..4)
        .map(|lobe| {
            let of_it = points.iter().filter(|[of, ..]| *of == f64::from(lobe));
            let read: Vec<(f64, f64)> = of_it.map(|[_, phase, lift]| (*phase, *lift)).collect();
            MeasuredLift::through(&read).expect("a lobe")
        })
        .collect()
}

#[test]
fn measured_lobes_lift_as_the_interpolator_of_scipy_has_them() {
    let lobes = measured_lobes();
    let table = rows::<5>("measured.csv");
    assert!(table.len() > 100);
    for [lobe, phase, lift, slope, bend] in table {
        let lobe = &lobes[lobe as usize];
        assert_abs_diff_eq!(lobe.lift_mm(phase), lift, epsilon = 1e-10);
        assert_abs_diff_eq!(lobe.velocity_mm_per_deg(phase), slope, epsilon = 1e-10);
        assert_abs_diff_eq!(lobe.acceleration_mm_per_deg2(phase), bend, epsilon = 1e-10);
    }
}

#[test]
fn measured_lobes_pass_a_lift_where_scipy_finds_their_roots() {
    let lobes = measured_lobes();
    for [lobe, lift, up, down] in rows::<4>("measured_passes.csv") {
        let lobe = &lobes[lobe as usize];
        let over = lobe.duration_over_deg(lift).expect("under full lift");
        // The lifts of the table have six places.
        assert_abs_diff_eq!(over, down - up, epsilon = 1e-4);
        if lift == (lobe.full_lift_mm() / 2.0 * 1e6).round() / 1e6 {
            let centre = f64::midpoint(up, down) % 720.0;
            assert_abs_diff_eq!(lobe.centre_deg(), centre, epsilon = 1e-4);
        }
    }
}

#[test]
fn ramps_are_those_that_scipy_finds_from_both_pairs() {
    let table = rows::<7>("ramps.csv");
    assert_eq!(table.len(), 5);
    for [full, one, over_one, other, over_other, exponent, seat] in table {
        let text = format!(
            "(intake: (duration: {over_one}, centre: 108, lift: {full}, quoted_at: {one}, \
             also_at: (lift: {other}, duration: {over_other})))"
        );
        let valves: Valves = dotwise::source::ron(&text).0.expect("valves");
        let lobe = Lobe::of(&valves, Valve::Intake);
        let found = lobe.fitted_exponent().expect("both pairs hold");
        assert_abs_diff_eq!(found, exponent, epsilon = 1e-7);
        assert_abs_diff_eq!(lobe.seat_duration_deg(), seat, epsilon = 1e-5);
    }
}

/// A crank that is turned, a rod and a piston that are dragged along, in decimetres: the sizes a
/// physics engine is made for.
struct Bench {
    pipeline: PhysicsPipeline,
    parameters: IntegrationParameters,
    islands: IslandManager,
    broad: BroadPhaseBvh,
    narrow: NarrowPhase,
    bodies: RigidBodySet,
    colliders: ColliderSet,
    joints: ImpulseJointSet,
    multibody: MultibodyJointSet,
    ccd: CCDSolver,
    crank: RigidBodyHandle,
    piston: RigidBodyHandle,
}

impl Bench {
    const DECIMETRE_MM: f64 = 100.0;

    /// The bore runs along x, the pin's offset along y, as in the cylinder's own frame; the throw
    /// starts along the bore.
    fn new(stroke_mm: f64, rod_mm: f64, pin_y_mm: f64) -> Self {
        let [radius, rod, pin_y] =
            [stroke_mm / 2.0, rod_mm, pin_y_mm].map(|mm| mm / Self::DECIMETRE_MM);
        let (mut bodies, mut joints) = (RigidBodySet::new(), ImpulseJointSet::new());
        let lean = (pin_y / rod).asin();
        let gudgeon = Vector::new(radius + rod * lean.cos(), pin_y);
        let ground = bodies.insert(RigidBodyBuilder::fixed());
        let crank = bodies.insert(RigidBodyBuilder::kinematic_position_based());
        let heavy = |builder: RigidBodyBuilder| {
            builder.additional_mass_properties(MassProperties::new(Vector::new(0.0, 0.0), 1.0, 0.1))
        };
        let middle = Vector::new(radius, 0.0).midpoint(gudgeon);
        let rod_body = bodies.insert(heavy(
            RigidBodyBuilder::dynamic()
                .translation(middle)
                .rotation(lean)
                .can_sleep(false),
        ));
        let piston = bodies.insert(heavy(
            RigidBodyBuilder::dynamic()
                .translation(gudgeon)
                .can_sleep(false),
        ));
        let half = rod / 2.0;
        let big_end = RevoluteJointBuilder::new()
            .local_anchor1(Vector::new(radius, 0.0))
            .local_anchor2(Vector::new(-half, 0.0));
        let small_end = RevoluteJointBuilder::new()
            .local_anchor1(Vector::new(half, 0.0))
            .local_anchor2(Vector::new(0.0, 0.0));
        let bore = PrismaticJointBuilder::new(Vector::new(1.0, 0.0))
            .local_anchor1(Vector::new(0.0, pin_y))
            .local_anchor2(Vector::new(0.0, 0.0));
        joints.insert(crank, rod_body, big_end, true);
        joints.insert(rod_body, piston, small_end, true);
        joints.insert(ground, piston, bore, true);
        let parameters = IntegrationParameters {
            num_solver_iterations: 40,
            ..IntegrationParameters::default()
        };
        Self {
            pipeline: PhysicsPipeline::new(),
            parameters,
            islands: IslandManager::new(),
            broad: BroadPhaseBvh::new(),
            narrow: NarrowPhase::new(),
            bodies,
            colliders: ColliderSet::new(),
            joints,
            multibody: MultibodyJointSet::new(),
            ccd: CCDSolver::new(),
            crank,
            piston,
        }
    }

    fn step(&mut self) {
        self.pipeline.step(
            Vector::new(0.0, 0.0),
            &self.parameters,
            &mut self.islands,
            &mut self.broad,
            &mut self.narrow,
            &mut self.bodies,
            &mut self.colliders,
            &mut self.joints,
            &mut self.multibody,
            &mut self.ccd,
            &(),
            &(),
        );
    }

    /// Turns the crank to `throw_deg` past the bore a little at a time, lets everything come to
    /// rest, and measures the pin's height.
    fn height_mm(&mut self, from_deg: f64, throw_deg: f64) -> f64 {
        const LITTLE_DEG: f64 = 1.0;
        const REST: u32 = 60;
        let littles = ((throw_deg - from_deg) / LITTLE_DEG).ceil() as u32;
        for little in 1..=littles + REST {
            let part = f64::from(little.min(littles)) / f64::from(littles.max(1));
            let angle = from_deg + (throw_deg - from_deg) * part;
            self.bodies[self.crank].set_next_kinematic_rotation(Rotation::new(angle.to_radians()));
            if little > littles {
                // At rest: what it had of speed is taken off.
                self.bodies[self.piston].set_linvel(Vector::new(0.0, 0.0), true);
            }
            self.step();
        }
        self.bodies[self.piston].translation().x * Self::DECIMETRE_MM
    }
}

#[test]
fn a_crank_of_bodies_and_joints_moves_its_piston_the_same() {
    for (stroke, rod, offset) in [
        (80.0, 135.0, 0.0),
        (90.0, 140.0, 10.0),
        (100.0, 190.0, -6.0),
    ] {
        let slider = SliderCrank::new(stroke, rod, offset);
        let mut bench = Bench::new(stroke, rod, slider.pin_y_mm());
        let mut throw = 0.0;
        for next in (15..=360).step_by(15).map(f64::from) {
            let height = bench.height_mm(throw, next);
            throw = next;
            // Joints of a physics engine give a little: hundredths of a millimetre on a stroke of
            // 80.
            assert_abs_diff_eq!(height, slider.pin_height_mm(next), epsilon = 0.02);
        }
    }
}

/// Where the piston and one valve come nearest and by how much, from the formulas written out and
/// looked at every hundredth of a degree; the lobe from phase `opens` to `closes`.
fn nearest(
    d: &Description,
    slope_deg: f64,
    drop: f64,
    [opens, closes, lift]: [f64; 3],
) -> [f64; 2] {
    let (r, l, e) = (d.crankshaft.stroke / 2.0, d.rod_length, -d.pin_offset());
    let height = |throw: f64| r * throw.cos() + (l * l - (r * throw.sin() - e).powi(2)).sqrt();
    let tdc = (e / (l + r)).asin();
    let gap = |phase: f64| {
        let past = (phase - opens).rem_euclid(720.0) / (closes - opens);
        let x = past.min(1.0);
        let down = height(tdc) - height(tdc + phase.to_radians());
        drop + down / slope_deg.to_radians().cos() - 64.0 * lift * (x * (1.0 - x)).powi(3)
    };
    let gaps = (0..72_000).map(|step| {
        let phase = f64::from(step) / 100.0;
        [gap(phase), phase]
    });
    gaps.min_by(|one, other| one[0].total_cmp(&other[0]))
        .expect("some")
}

#[test]
fn valves_come_nearest_to_the_pistons_where_looking_at_every_hundredth_of_a_degree_finds_it() {
    for (valve_angle, pin_offset, ahead) in [
        (0.0, 0.0, 0.0),
        (25.0, 0.0, 0.0),
        (25.0, 4.0, 14.4),
        (40.0, -4.0, -28.8),
    ] {
        let mut d = scenes::BENCH.engine().written().clone();
        d.pin_offset = Some(pin_offset);
        let measured = Clearance {
            intake_drop: 4.1,
            exhaust_drop: 4.6,
            valve_angle: Some(valve_angle),
            valves_touch_at: None,
        };
        let (slider, lobes) = (SliderCrank::of(&d), Lobes::of(&d.valves));
        let one: clearance::Ahead = [CrankTurn::new(ahead)].into_iter().collect();
        let found = clearance::least(&measured, &slider, &lobes, &[one.clone(), one]);
        let [intake, exhaust] = Valve::BOTH.map(|valve| d.valves.events(valve).expect("events"));
        let intake = [
            360.0 - intake.opens_before,
            540.0 + intake.closes_after,
            intake.lift,
        ];
        let exhaust = [
            180.0 - exhaust.opens_before,
            360.0 + exhaust.closes_after,
            exhaust.lift,
        ];
        for (found, drop, [opens, closes, lift]) in
            [(found.intake, 4.1, intake), (found.exhaust, 4.6, exhaust)]
        {
            let lobe = [opens - ahead, closes - ahead, lift];
            let [gap, phase] = nearest(&d, valve_angle, drop, lobe);
            assert_abs_diff_eq!(found.gap_mm, gap, epsilon = 1e-5);
            assert_abs_diff_eq!(found.crank.degrees(), phase, epsilon = 0.02);
        }
    }
}
