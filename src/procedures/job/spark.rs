//! The spark: points, static timing by a lamp, the next cylinder, and the leads on cap or coils.

#![expect(
    clippy::indexing_slicing,
    reason = "an engine has a firing angle and a lead for each cylinder of its order"
)]

use super::bench::{ANY_TIME, Bench, CLOSED};
use super::blank::Blank;
use super::step::{Condition, Step};
use super::way::Way;
use crate::angle::{CrankAngle, CrankTurn};
use crate::description::{Distributor, job_steps as keys};
use crate::diagnosis::stage::Stage;
use crate::laws::ignition;
use crate::procedures::dropin::DropIn;
use crate::procedures::static_timing::{set_by_lamp, static_timing};
use crate::words::{before_tdc, cylinders, degrees, length};

const OTHER_COIL: &str = "Follow each lead with a finger from the coil to its plug: a lead from another coil sparks at the wrong time.";
const LIVE: &str = "The ignition is on while the lamp is: hands off leads, coil and plugs, and off again before anything else is touched. \
    Fingers clear of belts and gears.";

/// Points and timing, of an engine that has a spark to set.
pub(super) fn set(on: Bench<'_>, distributor: Option<&Distributor>) -> Vec<Step> {
    let mut steps = Vec::new();
    if !keys::sets_a_spark(on.d()) {
        return steps;
    }
    if on.way != Way::FrontOpened {
        steps.push(points_gap());
    }
    match distributor {
        Some(distributor) => {
            steps.push(spark_by_the_body(on, distributor));
            steps.extend(spark_next(on));
        }
        None => steps.extend(spark_set(on)),
    }
    steps
}

/// The leads, on the cap or on their coils; none where they stayed on.
pub(super) fn leads(on: Bench<'_>, dropped: Option<(&DropIn, &Distributor)>) -> Vec<Step> {
    if on.way == Way::FrontOpened {
        return Vec::new();
    }
    if let Some((drop, distributor)) = dropped {
        let leads = 0..drop.leads.len();
        return leads
            .map(|index| lead(on, drop, index, distributor))
            .collect();
    }
    let coils = on.engine().coils();
    (0..coils.len())
        .map(|index| coil(on, coils, index))
        .collect()
}

fn points_gap() -> Step {
    Step {
        must_be_seen: vec![
            "The heel of the points stands on the top of a cam's lobe, and the feeler just drags; or the dwell is what the manual asks for.".into(),
            "A wider gap opens earlier and gives less dwell: set it before the spark is timed, and never after.".into(),
        ],
        write_down: vec![
            Blank::length("gap", "gap of the points, fully open", 0.05, 1.5),
            Blank::degrees(
                "dwell",
                "how long the points are shut, degrees of the shaft that works them",
                1.0,
                300.0,
            ),
        ],
        ..Step::new(
            &keys::POINTS_GAP,
            CLOSED,
            "Set the points' gap, or their dwell, to the engine maker's figure. Without points, set the air gap at the trigger, where it can be \
             set; else pass this over.",
        )
    }
}

/// What is written down of a spark that was set so many degrees before TDC.
fn seen_at(btdc_deg: f64) -> Blank {
    Blank::degrees(
        "spark",
        "where the lamp changed, crank degrees before TDC; negative after it",
        (btdc_deg - 30.0).floor(),
        (btdc_deg + 30.0).ceil(),
    )
}

/// Round the pulley, where its diameter is known.
fn round_the_pulley(on: Bench<'_>) -> String {
    on.d().pulley_diameter.map_or(String::new(), |diameter| {
        let mm = ignition::on_pulley_mm(diameter, on.d().ignition.static_advance);
        format!(
            ", {} round the pulley",
            length(mm.abs(), on.engine().written().units)
        )
    })
}

/// The spark set by turning the distributor's body.
fn spark_by_the_body(on: Bench<'_>, distributor: &Distributor) -> Step {
    let btdc_deg = on.d().ignition.static_advance;
    let (turns, against) = (distributor.rotation(), distributor.rotation().reversed());
    Step {
        must_be_seen: vec![
            "Turned back a quarter turn and brought up forwards again, the lamp lights at the very mark.".into(),
            "The rotor points to No. 1's tower as it lights: half a turn away, this is No. 1's overlap.".into(),
        ],
        write_down: vec![seen_at(btdc_deg)],
        caution: Some(LIVE),
        crank: CrankAngle::new(0.0) - CrankTurn::new(btdc_deg),
        right: Condition::CrankAt {
            at: CrankAngle::new(0.0) - CrankTurn::new(btdc_deg),
            either_turn: false,
        },
        ..Step::new(
            &keys::SPARK_SET,
            CLOSED,
            format!(
                "Bring the crank forwards to {}{}, on No. 1's compression. Put a lamp across the points, slacken the clamp, and turn the body {}, \
                 the way the rotor turns, until the lamp is out; then {}, against it, until the lamp just lights. Clamp it there.",
                before_tdc(btdc_deg),
                round_the_pulley(on),
                turns.word(),
                against.word()
            ),
        )
    }
}

/// The spark of the cylinder that fires next.
fn spark_next(on: Bench<'_>) -> Option<Step> {
    let (&number, &fires) = (
        on.engine().firing_order().get(1)?,
        on.engine().firing_angles().get(1)?,
    );
    let at = CrankAngle::new(fires) - CrankTurn::new(on.d().ignition.static_advance);
    Some(Step {
        must_be_seen: vec![
            format!("The lamp lights as No. {number} comes as far before its own TDC as No. 1 did, within 2°."),
            "Farther out, the shaft of the points is worn or bent, or a cam of it is: the mean of all cylinders is then what is set.".into(),
        ],
        caution: Some(LIVE),
        crank: at,
        right: Condition::CrankAt {
            at,
            either_turn: false,
        },
        ..Step::new(
            &keys::SPARK_NEXT,
            CLOSED,
            format!(
                "Turn on {} to where No. {number} must get its spark, and watch the lamp.",
                degrees(fires)
            ),
        )
    })
}

/// The spark set by a lamp, on an engine without a distributor that says how its sparks come.
fn spark_set(on: Bench<'_>) -> Option<Step> {
    let engine = on.engine();
    let timing = static_timing(on.drawn)?;
    let mut lines = set_by_lamp(&timing, engine.written().units).into_iter();
    let at = CrankAngle::new(0.0) - CrankTurn::new(timing.btdc_deg);
    let mut must_be_seen =
        vec!["The lamp changes at the mark each time it is come up to.".to_owned()];
    let action = lines.next()?;
    must_be_seen.extend(lines);
    Some(Step {
        must_be_seen,
        write_down: vec![seen_at(timing.btdc_deg)],
        caution: Some(LIVE),
        crank: at,
        right: Condition::CrankAt {
            at,
            either_turn: timing.every_turn,
        },
        ..Step::new(&keys::SPARK_SET, CLOSED, action)
    })
}

/// The leads of a coil.
fn coil(on: Bench<'_>, coils: &[Vec<u8>], index: usize) -> Step {
    let coil = coils.get(index).map_or(&[][..], Vec::as_slice);
    let every_turn = on.engine().sparks_every_turn();
    let first = coil.first().copied().unwrap_or(1);
    let crank = CrankAngle::new(on.engine().fires_deg(first).unwrap_or(0.0));
    let (action, seen) = match coil {
        [one, other] => (
            format!(
                "Turn on to the top of No. {one} and No. {other}, which rise together, and plug the leads of this coil on their plugs, \
                 either way about."
            ),
            format!(
                "No. {one} and No. {other} stand at the top together: the one firing, its valves shut, the other on overlap. Both plugs \
                 spark together as they come up to it, the one on overlap for nothing."
            ),
        ),
        _ => (
            format!("Turn on to the top of No. {first}, and plug its coil's lead on its plug."),
            if every_turn {
                format!(
                    "No. {first} stands at the top; its plug sparks as it comes up to overlap too, for nothing."
                )
            } else {
                format!("No. {first}'s valves are both shut.")
            },
        ),
    };
    Step {
        key: keys::coil_key(coil),
        title: format!("Coil {} of {}: {}", index + 1, coils.len(), cylinders(coil)),
        stage: Stage::CoverOn,
        must_be_seen: [Some(seen), (coils.len() > 1).then(|| OTHER_COIL.to_owned())]
            .into_iter()
            .flatten()
            .collect(),
        crank,
        right: Condition::CoilPlugged {
            cylinders: coil.to_vec(),
            at: crank,
            either_turn: every_turn,
        },
        ..Step::new(&keys::COILS, ANY_TIME, action)
    }
}

fn lead(on: Bench<'_>, drop: &DropIn, index: usize, distributor: &Distributor) -> Step {
    let crank = CrankAngle::new(on.engine().firing_angles()[index]);
    let (tower, cylinder) = (
        drop.leads[index].tower.degrees(),
        drop.leads[index].cylinder,
    );
    let direction = distributor.rotation().word();
    let action = if index == 0 {
        "With No. 1 at firing TDC, plug No. 1's lead into the tower at the rotor.".to_owned()
    } else {
        let on = on.engine().firing_angles()[index] - on.engine().firing_angles()[index - 1];
        format!(
            "Turn on {} to No. {cylinder}'s firing TDC, and plug its lead into the tower at the rotor.",
            degrees(on)
        )
    };
    Step {
        key: keys::lead_key(cylinder),
        title: format!(
            "Lead {} of {}: No. {cylinder}",
            index + 1,
            on.engine().cylinder_count()
        ),
        stage: Stage::CoverOn,
        must_be_seen: vec![
            format!(
                "The rotor points at the tower at {} on the cap's clock.",
                degrees(tower)
            ),
            format!("No. {cylinder}'s valves are both shut."),
            format!(
                "Towers are counted {direction}, the way the rotor turns, and not round the cap as the cylinders stand."
            ),
        ],
        crank,
        right: Condition::Lead {
            cylinder,
            tower_index: index,
        },
        ..Step::new(&keys::LEADS, ANY_TIME, action)
    }
}
