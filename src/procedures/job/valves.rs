//! The valves, set at the fewest stops of the crank.

use super::bench::{ANY_TIME, Bench};
use super::step::{Condition, Step};
use crate::angle::{CrankTurn, wrap};
use crate::description::{Valve, job_steps as keys};
use crate::diagnosis::stage::Stage;
use crate::engine::Engine;
use crate::phasing::{CylinderPhasing, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, Lash, LashStop, NeverFree, lash};
use crate::procedures::valve_setting::ValveSetting;
use crate::words::{cylinders, degrees};

pub(super) fn steps(on: Bench<'_>) -> Vec<Step> {
    let lash = lash(on.drawn, DEFAULT_MARGIN_DEG);
    let stops = lash.stops.iter().enumerate();
    let mut steps: Vec<Step> = stops
        .map(|(index, stop)| valve_stop(on.engine(), &lash, index, stop))
        .collect();
    if let Some(first) = steps.first_mut() {
        first.instead = one_by_one(on.drawn);
    }
    steps
}

/// Cylinder by cylinder, by each other's valve; None where a lobe is then not out of the way.
/// Common practice, no source.
fn one_by_one(drawn: &Phasing) -> Option<String> {
    /// A valve that has just begun to open, or is all but shut, is this far from its seat.
    const JUST_DEG: f64 = 10.0;
    let off = |cylinder: &CylinderPhasing, seen: Valve, seen_deg: f64, set: Valve| {
        let phase_deg = seen_deg - cylinder.ahead(seen).degrees() + cylinder.ahead(set).degrees();
        drawn.lobe(set).off_lobe_deg(wrap(phase_deg, 720.0))
    };
    let opening_deg = drawn.exhaust().leaves_seat_deg() + JUST_DEG;
    let closing_deg =
        drawn.intake().leaves_seat_deg() + drawn.intake().seat_duration_deg() - JUST_DEG;
    let free = drawn.cylinders().iter().all(|cylinder| {
        off(cylinder, Valve::Exhaust, opening_deg, Valve::Intake) >= DEFAULT_MARGIN_DEG
            && off(cylinder, Valve::Intake, closing_deg, Valve::Exhaust) >= DEFAULT_MARGIN_DEG
    });
    let verb = ValveSetting::of(drawn.engine()).verb();
    free.then(|| {
        format!(
            "Or cylinder by cylinder, without stops (common practice): turn on until a cylinder's exhaust valve just begins to open, and {verb} \
             its intake; turn on until its intake valve is nearly shut again, and {verb} its exhaust."
        )
    })
}

fn valve_stop(engine: &Engine, lash: &Lash, index: usize, stop: &LashStop) -> Step {
    let setting = ValveSetting::of(engine);
    let LashStop {
        crank,
        intake,
        exhaust,
    } = stop;
    let valves = [("intake", intake), ("exhaust", exhaust)];
    let words = valves
        .iter()
        .filter(|(_, numbers)| !numbers.is_empty())
        .map(|(word, numbers)| format!("{word} of {}", cylinders(numbers)));
    let words = words.collect::<Vec<_>>().join(", ");
    let mut must_be_seen = vec![
        setting.asked(engine),
        setting.how(engine),
        format!(
            "Each of them is off its lobe by {} of crank at least, on both sides.",
            degrees(DEFAULT_MARGIN_DEG)
        ),
    ];
    if let (Some(NeverFree { cylinder, valve }), true) =
        (lash.never.first(), index + 1 == lash.stops.len())
    {
        must_be_seen.push(format!("No. {cylinder}'s {} is never that far off its lobe: set it midway, where it is furthest.", valve.word()));
    }
    let list = |numbers: &[u8]| {
        numbers
            .iter()
            .map(u8::to_string)
            .collect::<Vec<_>>()
            .join("+")
    };
    let action = format!(
        "Turn on until the crank stands at {}, and {} the {words}.",
        degrees(crank.degrees()),
        setting.verb()
    );
    Step {
        key: format!("valves-in-{}-ex-{}", list(intake), list(exhaust)),
        title: format!(
            "{}: stop {} of {}",
            keys::VALVES.title,
            index + 1,
            lash.stops.len()
        ),
        stage: Stage::CoverOn,
        must_be_seen,
        caution: Some(setting.caution()),
        crank: *crank,
        right: Condition::ValvesFree {
            intake: intake.clone(),
            exhaust: exhaust.clone(),
            margin: CrankTurn::new(DEFAULT_MARGIN_DEG),
        },
        ..Step::new(&keys::VALVES, ANY_TIME, action)
    }
}
