//! The steps before the camshaft goes in: bearings, rods, crank, the cam wheel.

use super::bench::{Bench, MANUAL_FIRST};
use super::blank::Blank;
use super::step::Step;
use super::way::Way;
use crate::description::{DriveKind, job_steps as keys};

pub(super) fn steps(on: Bench<'_>) -> Vec<Step> {
    let mut steps = Vec::new();
    if on.way == Way::Stripped {
        steps.push(own_places(on));
    }
    if on.all_is_out() {
        steps.extend([bearings(on), rod_caps(on), crank_turns(on)]);
    }
    // In a split case that stayed closed the cam wheel is out of reach.
    if on.cam_drive_is_reached() {
        steps.extend([cam_wheel(on), cam_dot(on)]);
    }
    steps
}

fn own_places(on: Bench<'_>) -> Step {
    Step {
        must_be_seen: vec![
            "Every bearing, cap, follower, push rod and shim lies by the number of its own place.".into(),
            "A follower goes back on the lobe that it ran on, and on no other: the two have worn to each other.".into(),
            "No oilway, hole or thread holds dirt, swarf or old sealant.".into(),
        ],
        ..Step::new(
            &keys::OWN_PLACES,
            on.early(),
            "Lay the parts out in the order in which they came apart, each by the place it came from.",
        )
    }
}

fn bearings(on: Bench<'_>) -> Step {
    let (action, seat) = if on.case_opens() {
        (
            "Lay each main and cam bearing into the half of the case in which the crank will lie.",
            "Each bearing sits down on its dowel or in its notch: it does not rock, and cannot turn.",
        )
    } else {
        (
            "Lay each main bearing into the block, and its other half into its cap.",
            "Each shell lies in its notch or on its dowel, flush at both ends: it does not rock, and cannot turn.",
        )
    };
    Step {
        must_be_seen: vec![
            seat.into(),
            "Light, or a wire, goes through the oil hole of each: it lies over the hole behind it."
                .into(),
            "Bearing backs and their seats are dry and clean; the running faces are oiled.".into(),
        ],
        caution: Some(
            "A bearing off its dowel closes its oil hole, and spins when the case is closed on it: the engine is lost within minutes.",
        ),
        ..Step::new(&keys::BEARINGS, on.early(), action)
    }
}

fn rod_caps(on: Bench<'_>) -> Step {
    Step {
        must_be_seen: vec![
            "Each cap bears the number of its rod, and both numbers stand on the same side.".into(),
            "Each rod swings freely on its pin once its bolts are tight.".into(),
        ],
        caution: Some(MANUAL_FIRST),
        ..Step::new(
            &keys::ROD_CAPS,
            on.early(),
            if on.case_opens() {
                "Put each rod on its throw with its own cap, and tighten its bolts to the maker's torque."
            } else {
                "With the crank laid in and its main caps at the maker's torque, put each rod on its throw with its own cap, and tighten its \
                 bolts to the maker's torque."
            },
        )
    }
}

fn crank_turns(on: Bench<'_>) -> Step {
    let way = on.d().crankshaft.rotation().word();
    Step {
        must_be_seen: vec![
            "It turns by hand all the way round, with no place that is tighter than the others."
                .into(),
            format!(
                "Seen from the front it runs {way}: that is the running direction in every step below."
            ),
        ],
        write_down: vec![Blank::length(
            "float",
            "crankshaft end float, by a dial on its end while it is pushed to and fro",
            0.01,
            1.5,
        )],
        caution: Some(
            "Never force a crank that stops: back off and look. Fingers clear of the rods.",
        ),
        ..Step::new(
            &keys::CRANK_TURNS,
            on.early(),
            if on.case_opens() {
                "Lay the crank with its rods in its bearings, and turn it twice round by hand."
            } else {
                "Turn the crank twice round by hand, before anything hangs on it but its rods."
            },
        )
    }
}

fn cam_wheel(on: Bench<'_>) -> Step {
    let wheel = wheel(on);
    Step {
        must_be_seen: vec![
            format!("The cam {wheel} lies flat on its flange, its key or dowel home."),
            "Every bolt is at its torque, with thread lock or lock plate as the manual says."
                .into(),
        ],
        caution: Some(MANUAL_FIRST),
        ..Step::new(
            &keys::CAM_WHEEL,
            on.early(),
            format!(
                "Tighten the bolts of the cam {wheel} to the maker's torque, with the maker's thread lock or new lock plates. Where it goes \
                 on only after the camshaft is in, do this then."
            ),
        )
    }
}

fn cam_dot(on: Bench<'_>) -> Step {
    let wheel = wheel(on);
    let marks = &on.engine().written().marks;
    let mut must_be_seen: Vec<String> = marks
        .iter()
        .filter(|mark| mark.on.camshaft().is_some())
        .map(|mark| format!("Found: the {}.", mark.name))
        .collect();
    if must_be_seen.is_empty() {
        must_be_seen.push(format!(
            "Found: the mark on the cam {wheel}, whatever it is. The description names none (`marks`)."
        ));
    }
    must_be_seen.push(
        "There is one such mark. A casting mark or a maker's stamp is none: where two could be meant, the manual's picture decides."
            .into(),
    );
    Step {
        must_be_seen,
        ..Step::new(
            &keys::CAM_DOT,
            on.early(),
            format!(
                "Find the mark on the cam {wheel} and on the crank's, and touch both with paint, so that they are not lost once the wheels turn."
            ),
        )
    }
}

fn wheel(on: Bench<'_>) -> &'static str {
    match on.d().cam_drive.kind {
        DriveKind::Gears => "gear",
        DriveKind::Chain => "sprocket",
        DriveKind::Belt => "pulley",
    }
}
