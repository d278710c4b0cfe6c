//! Small pictures of the engine as a body, drawn without a window, held to pictures that were
//! looked at.
//!
//! Each is 192 × 128 and kept in `tests/engine_pictures/`. Adapters differ a little at edges: the
//! mean difference of all channels may be one step of 255, well under what a part out of place
//! makes (a crank turned by 90° makes over two, below). Needs a Vulkan adapter; the software one of
//! mesa-vulkan-drivers serves.
#![cfg(feature = "window")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test may stop")]

mod common;

use std::path::Path;

use common::scene_engine;
use dotwise::engine::Assembly;
use dotwise::window::picture::{Picture, png};
use dotwise::window::{Opened, SetView};

const SIZE: (u32, u32) = (192, 128);
/// Mean difference of all channels, of 255.
const MAY_DIFFER: f64 = 1.0;

fn drawn(scene: &str, view: SetView, turned_deg: f64) -> Vec<u8> {
    let opened = Opened {
        engine: scene_engine(scene),
        assembly: Assembly::default(),
        named: None,
    };
    let picture = Picture {
        view,
        pane: None,
        size: SIZE,
        turned_deg: vec![turned_deg],
        frames_a_second: 1,
    };
    png(&opened, &picture).unwrap_or_else(|error| panic!("{error}"))
}

fn pixels(file: &[u8]) -> Vec<u8> {
    let mut reader = png::Decoder::new(std::io::Cursor::new(file))
        .read_info()
        .expect("a PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
    let frame = reader.next_frame(&mut pixels).expect("a frame");
    assert_eq!(
        (frame.width, frame.height, frame.color_type),
        (SIZE.0, SIZE.1, png::ColorType::Rgb)
    );
    pixels
}

fn differ(one: &[u8], other: &[u8]) -> f64 {
    assert_eq!(one.len(), other.len());
    one.iter()
        .zip(other)
        .map(|(a, b)| f64::from(a.abs_diff(*b)))
        .sum::<f64>()
        / one.len() as f64
}

/// One test, one after the other: each starts an adapter of its own.
#[test]
fn inline_flat_vee_and_single_look_as_they_did_when_they_were_looked_at() {
    for (name, scene, look, turned_deg) in [
        ("inline", "bench_four", SetView::Whole, 30.0),
        ("flat", "flat_four", SetView::Whole, 30.0),
        ("vee", "vee_eight", SetView::Whole, 30.0),
        ("single", "single", SetView::Whole, 30.0),
        ("overhead", "five", SetView::Whole, 30.0),
        ("drive", "flat_four", SetView::Drive, 0.0),
        ("tongue", "three", SetView::Drive, 0.0),
        ("wheels", "bench_four", SetView::Front, 0.0),
        ("cap", "bench_four", SetView::Cap, 172.0),
    ] {
        let kept = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/engine_pictures")
            .join(format!("{name}.png"));
        let now = drawn(scene, look, turned_deg);
        let as_kept =
            std::fs::read(&kept).unwrap_or_else(|error| panic!("{}: {error}", kept.display()));
        let off = differ(&pixels(&now), &pixels(&as_kept));
        if off > MAY_DIFFER {
            let beside = std::env::temp_dir().join(format!("dotwise-{name}.png"));
            std::fs::write(&beside, &now).expect("written beside");
            panic!(
                "{name} differs by {off:.2} of 255 on the mean: look at {} and keep it if it is right",
                beside.display()
            );
        }
    }
    let turned = differ(
        &pixels(&drawn("bench_four", SetView::Whole, 30.0)),
        &pixels(&drawn("bench_four", SetView::Whole, 120.0)),
    );
    assert!(
        turned > MAY_DIFFER,
        "a quarter of a turn must show: {turned:.2}"
    );
}
