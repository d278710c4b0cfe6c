//! The built-in engines. All are invented: they teach, they prove nothing.

use std::sync::Arc;

use super::{Engine, read};
use crate::words;

/// A built-in engine.
#[derive(Clone, Copy, Debug)]
pub struct Scene {
    /// The name it is asked for by.
    pub name: &'static str,
    /// What there is to learn from it.
    pub teaches: &'static str,
    /// Its description.
    pub text: &'static str,
}

macro_rules! scene {
    ($name:literal, $teaches:literal) => {
        Scene {
            name: $name,
            teaches: $teaches,
            text: include_str!(concat!("../../scenes/", $name, ".ron")),
        }
    };
}

/// Every built-in engine, the one that opens by itself first.
pub const SCENES: [Scene; 23] = [
    scene!(
        "bench_four",
        "the bench engine: a geared four, 1-3-4-2, all marks at TDC"
    ),
    scene!(
        "single",
        "one cylinder: firing TDC and overlap look alike to the crank"
    ),
    scene!(
        "parallel_twin",
        "two pistons that rise together and fire a turn apart"
    ),
    scene!(
        "vee_twin_45",
        "uneven firing: 315° and 405° from one pin in a 45° vee"
    ),
    scene!("three", "every 240°, and no running mates"),
    scene!(
        "four_1243",
        "the other usual order of a four, 1-2-4-3, with a chain"
    ),
    scene!(
        "flat_four",
        "opposed pistons, and a distributor driven by the crankshaft"
    ),
    scene!("five", "every 144°, five towers at 72°"),
    scene!("inline_six", "running mates 1 and 6, 5 and 2, 3 and 4"),
    scene!(
        "vee_six_90",
        "uneven firing: 90° and 150° from three shared pins"
    ),
    scene!("flat_six", "six throws for six opposed cylinders"),
    scene!(
        "vee_eight",
        "a cross-plane eight: towers at 45°, easy to plug one round"
    ),
    scene!(
        "hidden_marks",
        "an idler whose mark comes round only after many turns"
    ),
    scene!(
        "anticlockwise",
        "a crank that turns the other way, and a rotor too"
    ),
    scene!(
        "marks_off_tdc",
        "marks that meet away from TDC: turn on from them"
    ),
    scene!(
        "helical_drop",
        "a helical drive that turns the rotor as it goes down"
    ),
    scene!(
        "measured_four",
        "lobes as measured with a dial, beside the card that they are not"
    ),
    scene!(
        "hydraulic_eight",
        "dots that meet on overlap, a cam card, hydraulic lifters"
    ),
    scene!(
        "wasted_spark_twin",
        "one coil for two plugs: each sparks every turn, once wasted"
    ),
    scene!(
        "crank_magneto",
        "a single whose magneto on the crank sparks on overlap too"
    ),
    scene!(
        "tongue_and_shaft",
        "a central tongue on a geared shaft: either can be out"
    ),
    scene!(
        "twin_cam_four",
        "two camshafts over the head: either can be a tooth out alone"
    ),
    scene!(
        "two_plug_four",
        "two plugs a cylinder: each distributor is timed by itself"
    ),
];

/// The engine that opens where none is named.
pub const BENCH: &Scene = &SCENES[0];

/// A scene by its name.
pub fn find(name: &str) -> Option<&'static Scene> {
    SCENES.iter().find(|scene| scene.name == name)
}

/// The name that was probably meant, where one is close.
pub fn closest(name: &str) -> Option<&'static str> {
    words::closest(name, &SCENES.map(|scene| scene.name))
}

impl Scene {
    /// Its engine.
    ///
    /// # Panics
    /// Never: a test reads every scene, and the texts are part of the program.
    pub fn engine(&self) -> Arc<Engine> {
        match read::engine(self.text).engine {
            Some(engine) => engine,
            None => unreachable!("scene {} is read in the tests", self.name),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source;

    #[test]
    fn every_scene_is_an_engine() {
        for scene in &SCENES {
            let read = read::engine(scene.text);
            assert!(
                read.engine.is_some(),
                "{}: {:#?}",
                scene.name,
                read.findings
            );
        }
    }

    #[test]
    fn every_scene_written_and_read_again_is_the_same_engine() {
        for scene in &SCENES {
            let description = scene.engine().written().clone();
            let text = source::write(&description).expect("written");
            assert_eq!(
                read::engine(&text).description.as_ref(),
                Some(&description),
                "{text}"
            );
        }
    }
}
