//! What is measured before anything else is built on: true TDC, the camshaft's events, the room
//! between valves and pistons.

use super::bench::{BEFORE_IT_RUNS, Bench, NEVER_FORCE};
use super::blank::Blank;
use super::step::Step;
use super::way::Way;
use crate::description::{Valve, job_steps as keys};
use crate::laws::clearance::least_allowed_mm;
use crate::words::{Units, length};

pub(super) fn steps(on: Bench<'_>) -> Vec<Step> {
    let mut steps = vec![tdc_stop(), cam_degreed(on)];
    if on.all_is_out() {
        steps.extend([clearance_drop(on), clearance_clay(on)]);
    }
    steps
}

fn tdc_stop() -> Step {
    Step {
        must_be_seen: vec![
            "The piston comes to the stop from both sides, softly, and no valve can touch it.".into(),
            "With the wheel moved so that TDC reads 0, both readings are alike, one before and one after.".into(),
        ],
        write_down: vec![
            Blank::degrees("a", "the wheel at the stop, turning one way", -360.0, 720.0),
            Blank::degrees(
                "b",
                "the wheel at the stop, turning the other way",
                -360.0,
                720.0,
            ),
        ],
        caution: Some(
            "Turn by hand alone, gently up to the stop, never with the starter: a piston driven on to it is holed. Take the stop out before the \
             crank is turned on.",
        ),
        ..Step::new(
            &keys::TDC_STOP,
            BEFORE_IT_RUNS,
            "Fix a degree wheel to the crank and a pointer to the case, and screw a stop into No. 1's plug hole. Turn up to the stop one way and \
             read a; turn back round to it the other way and read b. True TDC is midway.",
        )
    }
}

/// What may be passed over where nothing was changed that it hangs on.
fn same_parts(on: Bench<'_>, parts: &str) -> Option<String> {
    (on.way == Way::Stripped).then(|| {
        format!("Where {parts} are the very parts that were in it, unground and uncut, this may be passed over.")
    })
}

fn cam_degreed(on: Bench<'_>) -> Step {
    let units = on.engine().written().units;
    let valves = &on.d().valves;
    let at = if valves.is_at_tappet() {
        "the tappet"
    } else {
        "the valve"
    };
    let quoted = Valve::BOTH.map(|valve| on.drawn.lobe(valve).quoted_at_mm() / valves.ratio());
    let lift = if quoted.iter().all(|mm| *mm > 0.0) {
        format!(
            "{}, at which its events are quoted",
            length(quoted[0], units)
        )
    } else {
        let usual = match units {
            Units::Millimetres => "1 mm",
            Units::Inches => "0.050 in",
        };
        format!("{usual}, for a valve leaves its seat too slowly to be read there")
    };
    let mut must_be_seen =
        vec!["Where it was come to turning back, the slack of the drive is in the reading: turn forwards alone.".to_owned()];
    must_be_seen.extend(same_parts(on, "camshaft, drive and followers"));
    Step {
        must_be_seen,
        write_down: vec![
            Blank::length(
                "lift",
                "the lift at which the four below were read",
                0.05,
                20.0,
            ),
            event(
                "intake-opens",
                "where the intake came to that lift, degrees after No. 1's overlap TDC; negative before it",
            ),
            event(
                "intake-closes",
                "where the intake was back at it, degrees after that TDC",
            ),
            event(
                "exhaust-opens",
                "where the exhaust came to that lift, degrees after that TDC; negative before it",
            ),
            event(
                "exhaust-closes",
                "where the exhaust was back at it, degrees after that TDC",
            ),
        ],
        caution: Some(NEVER_FORCE),
        ..Step::new(
            &keys::CAM_DEGREED,
            BEFORE_IT_RUNS,
            format!(
                "With the wheel at 0 on true TDC and a dial on {at} of No. 1, its lash taken up, turn forwards and read the wheel where it comes to \
                 a lift and where it is back at it: {lift}. Intake first, then exhaust."
            ),
        )
    }
}

fn event(name: &'static str, what: &'static str) -> Blank {
    Blank::degrees(name, what, -720.0, 720.0)
}

/// What common practice asks for, in a sentence.
fn least(on: Bench<'_>) -> String {
    let units = on.engine().written().units;
    let [intake, exhaust] = Valve::BOTH.map(|valve| length(least_allowed_mm(valve, units), units));
    format!(
        "Common practice asks for {intake} at the intake and {exhaust} at the exhaust, at the least."
    )
}

const HEADS: &str = "camshaft, head, gasket, pistons and block";

fn clearance_drop(on: Bench<'_>) -> Step {
    let mut must_be_seen = vec![
        "The head is on its gasket and torqued down, and light springs are on the two valves."
            .to_owned(),
        least(on),
    ];
    must_be_seen.extend(same_parts(on, HEADS));
    Step {
        must_be_seen,
        write_down: vec![
            Blank::length(
                "intake-drop",
                "how far the intake valve goes down to the piston at TDC",
                0.01,
                200.0,
            )
            .into_field("clearance.intake_drop"),
            Blank::length(
                "exhaust-drop",
                "how far the exhaust valve goes down to the piston at TDC",
                0.01,
                200.0,
            )
            .into_field("clearance.exhaust_drop"),
        ],
        caution: Some(NEVER_FORCE),
        ..Step::new(
            &keys::CLEARANCE_DROP,
            BEFORE_IT_RUNS,
            "With No. 1 at true TDC and both its valves shut, the firing one, push each valve down by hand until it touches the piston, and read \
             the dial.",
        )
    }
}

fn clearance_clay(on: Bench<'_>) -> Step {
    let mut must_be_seen = vec![
        "The clay is cut through where it is thinnest, and measured there.".to_owned(),
        least(on),
    ];
    must_be_seen.extend(same_parts(on, HEADS));
    Step {
        must_be_seen,
        write_down: vec![
            Blank::length(
                "intake-clay",
                "the clay's least thickness under the intake valve",
                0.0,
                50.0,
            ),
            Blank::length(
                "exhaust-clay",
                "the clay's least thickness under the exhaust valve",
                0.0,
                50.0,
            ),
        ],
        caution: Some(NEVER_FORCE),
        ..Step::new(
            &keys::CLEARANCE_CLAY,
            BEFORE_IT_RUNS,
            "Press oiled modelling clay on No. 1's piston where the valves come down, put the head on and torque it down, set that cylinder's \
             valves as they will run, and turn the crank two whole turns by hand. Where it cannot be done so, the drop above serves.",
        )
    }
}
