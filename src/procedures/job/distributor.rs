//! The distributor: its drive's washers, the oil pump's slot, the rotor held, let down, clamped, and
//! seen to turn.

use super::bench::{BEFORE_IT_RUNS, Bench, RUNNING_WAY, STILL};
use super::blank::Blank;
use super::step::{Condition, Step};
use super::way::Way;
use crate::angle::CrankAngle;
use crate::description::{Coupling, Distributor, job_steps as keys};
use crate::procedures::dropin::{DropIn, ShaftIn};
use crate::words::{clockwise, degrees, past};

/// How the distributor goes in; on an engine of which the front alone was opened, how it is seen to
/// be where it was.
pub(super) fn steps(on: Bench<'_>, drop: &DropIn, distributor: &Distributor) -> Vec<Step> {
    if on.way == Way::FrontOpened {
        return vec![rotor_there(drop)];
    }
    let pump = keys::drives_the_pump(on.d());
    let mut steps = Vec::new();
    if distributor.coupling() == Coupling::Gear || distributor.is_on_geared_shaft() {
        steps.push(thrust_washers());
    }
    if pump {
        steps.push(pump_slot());
    }
    steps.extend(
        drop.shaft
            .as_ref()
            .map(|shaft| shaft_meshed(drop, shaft, pump)),
    );
    steps.push(rotor_held(drop));
    steps.push(rotor_seated(
        on,
        drop,
        distributor,
        pump && drop.shaft.is_none(),
    ));
    steps.push(body_clamped(distributor));
    steps.push(rotor_turns(distributor));
    steps
}

fn thrust_washers() -> Step {
    Step {
        must_be_seen: vec![
            "As many washers as came out, or as the manual asks for, lie flat at the foot of the drive's hole, or on its shaft.".into(),
            "They stay where they are when the hole is looked into with a light from the side.".into(),
        ],
        caution: Some(
            "A washer that falls goes down among the gears. Stuff a clean rag into the way below, count the washers, and take the rag out again.",
        ),
        ..Step::new(
            &keys::THRUST_WASHERS,
            BEFORE_IT_RUNS,
            "Stick the thrust washers of the distributor's drive in their place with grease, by a thin rod. Where the drive has none, pass this \
             over.",
        )
    }
}

fn pump_slot() -> Step {
    Step {
        must_be_seen: vec![
            "The pump's slot stands along the line on which the drive's foot will lie once it is home: the manual has it as an angle, or find \
             it by letting the drive down once and looking at its foot."
                .into(),
            "The drive turns a little on its way down, so the slot stands where its foot ends and not where it starts.".into(),
        ],
        caution: Some(
            "This drive turns the oil pump: not home in the pump's slot, the engine runs without oil pressure and is lost within minutes.",
        ),
        ..Step::new(
            &keys::PUMP_SLOT,
            BEFORE_IT_RUNS,
            "With a long screwdriver down the distributor's hole, turn the oil pump's slot to where it must stand.",
        )
    }
}

/// What must be seen where the drive's foot goes into the oil pump.
const PUMP_HOME: &str = "The drive is home on the oil pump too: its shoulder, or the distributor's, lies flat on the case. Where it stands proud, \
    its foot is not in the pump's slot: lift it, turn the slot a little, and try again; never draw it down by the clamp.";

/// The geared shaft under a tongue, before the distributor goes on it.
fn shaft_meshed(drop: &DropIn, shaft: &ShaftIn, pump: bool) -> Step {
    let side = match drop.coupling {
        Coupling::CentralTongue => "either end of its slot",
        _ => "the narrow side of its slot",
    };
    let mut must_be_seen = vec![match shaft.end {
        Some(end) => format!(
            "Looking down, {side} ends at {} on the cap's clock.",
            degrees(end.degrees())
        ),
        None => "The slot stands as it stood when the shaft was drawn: the description does not say where (`slot_at`).".to_owned(),
    }];
    if shaft.turns_on_entry_deg != 0.0 {
        let start = shaft.start.map_or(String::new(), |start| {
            format!(": hold it with {side} at {}", degrees(start.degrees()))
        });
        must_be_seen.push(format!(
            "It turns {} {} on its way into mesh, so it starts that far back{start}.",
            degrees(shaft.turns_on_entry_deg.abs()),
            clockwise(shaft.turns_on_entry_deg)
        ));
    }
    must_be_seen.push(format!(
        "One tooth of the shaft is {} of slot and rotor.",
        degrees(drop.degrees_per_tooth)
    ));
    if pump {
        must_be_seen.push(PUMP_HOME.to_owned());
    }
    let action = "Leave the crank at No. 1 firing TDC. With the distributor off, let its drive shaft down into mesh and look at the slot.";
    Step {
        must_be_seen,
        caution: Some(STILL),
        crank: CrankAngle::new(0.0),
        right: Condition::ShaftMeshed,
        ..Step::new(&keys::SHAFT_MESH, BEFORE_IT_RUNS, action)
    }
}

fn rotor_held(drop: &DropIn) -> Step {
    let (start, end, turns) = (drop.rotor_start, drop.rotor_end, drop.turns_on_entry_deg);
    let mut must_be_seen = vec![format!(
        "The rotor points to {} on the cap's clock before the drive takes hold.",
        degrees(start.degrees())
    )];
    if drop.shaft.is_some() {
        must_be_seen.push(
            "On its tongue the distributor does not turn as it goes down: it starts where it ends."
                .into(),
        );
    } else if turns == 0.0 {
        must_be_seen
            .push("This drive does not turn as it goes down: it starts where it ends.".into());
    } else {
        must_be_seen.push(format!(
            "It will turn {} {} on its way down and end at {}, so it must start that far back.",
            degrees(turns.abs()),
            clockwise(turns),
            degrees(end.degrees())
        ));
    }
    must_be_seen.push(match drop.coupling {
        Coupling::Gear => {
            format!("The next tooth either side is {} away: hold it nearer to this one than to its neighbours.", degrees(drop.degrees_per_tooth))
        }
        Coupling::OffsetTongue => "The tongue is off the centre: it goes home only one way.".into(),
        Coupling::CentralTongue => "The tongue is on the centre: it goes home half a turn out as readily as right.".into(),
    });
    let action = "Leave the crank at No. 1 firing TDC. Hold the distributor over its hole, its drive not in mesh yet, and turn its rotor to the \
         place from which it will end at No. 1's tower.";
    Step {
        must_be_seen,
        caution: Some(STILL),
        crank: CrankAngle::new(0.0),
        right: Condition::RotorHeld(start),
        ..Step::new(&keys::ROTOR_START, BEFORE_IT_RUNS, action)
    }
}

fn rotor_seated(on: Bench<'_>, drop: &DropIn, distributor: &Distributor, pump: bool) -> Step {
    let off = on
        .drawn
        .at(CrankAngle::new(0.0))
        .rotor
        .map_or(0.0, |rotor| rotor.past_deg);
    let mut must_be_seen = vec![format!(
        "The rotor ends at {} on the cap's clock: {} No. 1's tower.",
        degrees(drop.rotor_end.degrees()),
        past(off, 2)
    )];
    if let Some(range) = distributor.body_range {
        let what = if distributor.coupling() == Coupling::Gear {
            "What is less than a tooth"
        } else {
            "The rest"
        };
        must_be_seen.push(format!(
            "{what} is set by the body: the clamp lets it turn {} either way.",
            degrees(range)
        ));
    }
    if pump {
        must_be_seen.push(PUMP_HOME.to_owned());
    }
    let action = if drop.shaft.is_some() {
        "Let the distributor down on its tongue without turning the crank, and see where the rotor ends. Half a turn out, lift it and \
             turn it about; a tooth out, it is the shaft: draw it and mesh it again."
    } else {
        match distributor.coupling() {
            Coupling::Gear => {
                "Let the distributor down without turning the crank, and see where the rotor ends. If it is a tooth out, lift it and try \
                     again: do not turn the crank to meet it."
            }
            Coupling::OffsetTongue => {
                "Let the distributor down without turning the crank: its tongue goes home one way only. If it does not, turn the rotor, and \
                     never the crank."
            }
            Coupling::CentralTongue => {
                "Let the distributor down without turning the crank, and see where the rotor ends. If it is half a turn out, lift it and \
                     turn it about: do not turn the crank to meet it."
            }
        }
    };
    Step {
        must_be_seen,
        caution: Some(STILL),
        crank: CrankAngle::new(0.0),
        right: Condition::RotorSeated(drop.rotor_end),
        ..Step::new(&keys::ROTOR_HOME, BEFORE_IT_RUNS, action)
    }
}

fn body_clamped(distributor: &Distributor) -> Step {
    let mut must_be_seen = vec![
        "The body can still be turned by a firm hand: it is clamped fast only once the spark is set.".to_owned(),
    ];
    must_be_seen.extend(distributor.body_range.map(|range| {
        format!(
            "It stands about the middle of its slot, with {} left either way.",
            degrees(range)
        )
    }));
    Step {
        must_be_seen,
        write_down: vec![Blank::degrees(
            "rotor",
            "where the rotor points at No. 1's firing TDC, clock degrees looking down on the cap",
            -360.0,
            360.0,
        )],
        ..Step::new(
            &keys::BODY_CLAMPED,
            BEFORE_IT_RUNS,
            "Bring the body's mark, or No. 1's tower, to the rotor, and draw the clamp up lightly.",
        )
    }
}

fn rotor_turns(distributor: &Distributor) -> Step {
    let way = distributor.rotation().word();
    Step {
        must_be_seen: vec![
            format!("The rotor turned {way} all the way, looking down, half a turn for the whole turn of the crank."),
            "It stands opposite No. 1's tower now, for No. 1 is on overlap: a spark here would come on the wrong turn.".into(),
        ],
        caution: Some(RUNNING_WAY),
        crank: CrankAngle::new(360.0),
        right: Condition::OneTurn,
        ..Step::new(
            &keys::ROTOR_TURNS,
            BEFORE_IT_RUNS,
            "From No. 1 firing TDC turn the crank one whole turn by hand in the running direction, to its overlap, and watch the rotor.",
        )
    }
}

/// The rotor of an engine whose distributor stayed in.
fn rotor_there(drop: &DropIn) -> Step {
    Step {
        must_be_seen: vec![
            format!(
                "The rotor points to {} on the cap's clock, at No. 1's tower.",
                degrees(drop.rotor_end.degrees())
            ),
            "Where it points half a turn away, the cam drive was put together with No. 1 on overlap: that is the cam's mark and not the \
             distributor's."
                .into(),
        ],
        caution: Some(RUNNING_WAY),
        right: Condition::RotorSeated(drop.rotor_end),
        ..Step::new(
            &keys::ROTOR_THERE,
            BEFORE_IT_RUNS,
            "With No. 1 at its firing TDC take the cap off and look at the rotor. The distributor stayed in: leave it there.",
        )
    }
}
