//! What a reading costs, beside the floor: the sines, cosines and roots it cannot do without.
//!
//! `cargo bench -p benches`. The goal: an eight's reading under twice its floor, cost in
//! proportion to cylinders.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a bench may stop"
)]

use std::hint::black_box;

use divan::Bencher;
use dotwise::angle::{CrankAngle, CrankTurn};
use dotwise::engine::{read, scenes};
use dotwise::phasing::Phasing;

fn main() {
    divan::main();
}

fn phasing(scene: &str) -> Phasing {
    Phasing::as_drawn(&scenes::find(scene).expect("a scene").engine())
}

/// The floor: for each cylinder one sine and cosine, and the root that makes a piston's height of
/// them.
#[divan::bench(args = [1, 4, 8])]
fn floor(bencher: Bencher, cylinders: u32) {
    let mut crank_deg = 0.0_f64;
    bencher.bench_local(move || {
        crank_deg = if crank_deg > 719.0 {
            0.0
        } else {
            crank_deg + 0.37
        };
        let mut sum = 0.0;
        for cylinder in 0..cylinders {
            let (sin, cos) = (black_box(crank_deg) + 90.0 * f64::from(cylinder))
                .to_radians()
                .sin_cos();
            let sideways = 40.0 * sin;
            sum += 40.0 * cos + (135.0 * 135.0 - sideways * sideways).sqrt();
        }
        black_box(sum)
    });
}

#[divan::bench(args = ["single", "bench_four", "vee_eight"])]
fn one_reading(bencher: Bencher, scene: &str) {
    let phasing = phasing(scene);
    let mut crank_deg = 0.0_f64;
    bencher.bench_local(move || {
        crank_deg = if crank_deg > 719.0 {
            0.0
        } else {
            crank_deg + 0.37
        };
        phasing.at(black_box(CrankAngle::new(crank_deg)))
    });
}

/// The same of an eight whose ramps are fitted to two pairs of events: a power for each valve that
/// is off its seat.
#[divan::bench]
fn one_reading_with_fitted_ramps(bencher: Bencher) {
    let text = scenes::find("vee_eight").expect("a scene").text;
    let text = text.replace(
        "lift: 10.5)",
        "lift: 10.5, also_at: (lift: 1.27, duration: 214.0))",
    );
    let engine = read::engine(&text).engine.expect("an engine");
    let phasing = Phasing::as_drawn(&engine);
    assert!(phasing.intake().fitted_exponent().is_some());
    let mut crank_deg = 0.0_f64;
    bencher.bench_local(move || {
        crank_deg = if crank_deg > 719.0 {
            0.0
        } else {
            crank_deg + 0.37
        };
        phasing.at(black_box(CrankAngle::new(crank_deg)))
    });
}

/// 7,200 readings, each looked at and let go.
#[divan::bench(args = ["single", "bench_four", "vee_eight"])]
fn a_table_of_7200(bencher: Bencher, scene: &str) {
    let phasing = phasing(scene);
    bencher.bench_local(|| {
        phasing
            .sweep(CrankTurn::new(0.1))
            .map(|reading| black_box(&reading).cylinders[0].piston_drop_mm)
            .sum::<f64>()
    });
}

#[divan::bench(args = ["single", "bench_four", "vee_eight"])]
fn reading_a_description(bencher: Bencher, scene: &str) {
    let text = scenes::find(scene).expect("a scene").text;
    bencher.bench_local(|| read::engine(black_box(text)));
}

#[divan::bench(args = ["single", "bench_four", "vee_eight"])]
fn working_out_a_phasing(bencher: Bencher, scene: &str) {
    let engine = scenes::find(scene).expect("a scene").engine();
    bencher.bench_local(|| Phasing::as_drawn(black_box(&engine)));
}
