//! The cap and its leads, from above.

use crate::angle::{Clock, CrankAngle};
use crate::description::{Coupling, Distributor};
use crate::drawing::View as _;
use crate::drawing::cap::{self, Cap, DroppedIn};
use crate::laws::ignition;
use crate::output::as_built::first;
use crate::output::error::Error;
use crate::output::paper::{BOX, Beside, Over, PLAIN_MM, PageWriter};
use crate::phasing::Phasing;
use crate::procedures::dropin::{ShaftIn, dropin};
use crate::words::{clockwise, degrees};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) -> Result<(), Error> {
    let first = first(phasing);
    let at_firing_tdc = CrankAngle::new(0.0);
    let (reading, drawn) = (
        phasing.at(at_firing_tdc),
        Phasing::as_drawn(phasing.engine()),
    );
    let distributor = phasing
        .engine()
        .metric()
        .distributor
        .as_ref()
        .ok_or(Error::NoDistributor)?;
    writer.start("Cap and leads", Over::Turning);
    writer.paragraph(
        "Looking down on the cap, the crank at No. 1's firing TDC. Straight up is your reference mark, 0°; degrees run clockwise.",
        PLAIN_MM,
        false,
    );
    writer.skip(1.0);
    let steps = match first {
        // No way in is shown where the crank cannot be turned to it.
        Some(_) => Vec::new(),
        None => drop_in(&drawn, distributor),
    };
    if !steps.is_empty() {
        writer.draw_beside(&steps);
    }
    // As built it stands otherwise than it must be dropped in.
    if steps.is_empty() || !phasing.assembly().is_as_drawn() {
        let cap = Cap::new(phasing).map(|cap| cap.at(&reading));
        let cap = cap.ok_or(Error::NoDistributor)?;
        if steps.is_empty() {
            let says = "The distributor looking down on its cap, its towers with their leads and its rotor as they stand.";
            writer.draw(&cap, says, 92.0, 90.0);
        } else {
            let says = "As built, where the steps above are as drawn.".to_owned();
            writer.draw_beside(&[Beside {
                drawing: cap,
                says,
                is_captioned: true,
                wide_mm: CAP_MM,
            }]);
        }
    }
    let as_drawn = drawn.at(at_firing_tdc).rotor.map(|rotor| rotor.clock);
    if let (Some(rotor), Some(as_drawn)) = (reading.rotor, as_drawn) {
        let ends = Ends {
            as_built: rotor.clock,
            as_drawn,
        };
        rotor_rows(writer, distributor, &ends, first.as_deref());
    }
    writer.heading("Leads, in the rotor's direction", 24.0);
    let rows: Vec<Vec<String>> = phasing
        .towers()
        .iter()
        .zip(phasing.leads())
        .zip(drawn.towers().iter().zip(drawn.leads()))
        .enumerate()
        .map(|(index, ((tower, lead), (drawn_tower, drawn_lead)))| {
            let lead = match lead == drawn_lead {
                true => format!("No. {lead}"),
                false => format!("No. {lead} (as drawn No. {drawn_lead})"),
            };
            vec![
                BOX.to_owned(),
                format!("{}", index + 1),
                beside(tower.degrees(), drawn_tower.degrees()),
                lead,
                String::new(),
            ]
        })
        .collect();
    writer.table(&["", "tower", "stands at", "lead to", "plugged by"], &rows);
    Ok(())
}

/// How wide each cap is of those that stand side by side.
const CAP_MM: f64 = 58.0;

/// The distributor held, home, and home where it is not right, each with what is drawn.
fn drop_in(phasing: &Phasing, distributor: &Distributor) -> Vec<Beside> {
    let Some(found) = dropin(phasing) else {
        return Vec::new();
    };
    let end = found.rotor_end.degrees();
    let turns = found.turns_on_entry_deg;
    let start = found.rotor_start.degrees();
    let mut steps = vec![
        (
            DroppedIn::Held {
                at_deg: start,
                turns_deg: turns,
            },
            if turns == 0.0 {
                format!(
                    "1. Held: the rotor at {}. It does not turn on its way down.",
                    degrees(start)
                )
            } else {
                format!(
                    "1. Held: the rotor at {}. It turns {} {} on its way down.",
                    degrees(start),
                    degrees(turns.abs()),
                    clockwise(turns)
                )
            },
        ),
        (
            DroppedIn::Home { at_deg: end },
            format!("2. Home: the rotor at {}.", degrees(end)),
        ),
    ];
    let places = |teeth: i32, half_turn: bool| {
        let turned = distributor.rotation().sign() * f64::from(teeth) * found.degrees_per_tooth;
        end + turned + if half_turn { 180.0 } else { 0.0 }
    };
    let out: Vec<f64> = found
        .teeth
        .iter()
        .map(|way| match found.coupling {
            Coupling::CentralTongue if found.shaft.is_none() => places(0, true),
            _ => places(way.drive_teeth, way.tongue_half_turn),
        })
        .take(2)
        .collect();
    let told = |deg: f64| degrees(Clock::new(deg).degrees());
    let wrong = match out[..] {
        [one, other] if one != other => Some((
            [one, other],
            format!(
                "3. A tooth out: behind at {} (whole line), ahead at {} (dashed). Grey is right. Lift it and try again.",
                told(one),
                told(other)
            ),
        )),
        [one, ..] => Some((
            [one, one],
            format!(
                "3. Half a turn out: at {}. Grey is right. Lift it and turn it about.",
                told(one)
            ),
        )),
        [] => None,
    };
    steps.extend(wrong.map(|(at_deg, says)| {
        let right_deg = end;
        (DroppedIn::Out { right_deg, at_deg }, says)
    }));
    steps
        .into_iter()
        .filter_map(|(rotor, says)| {
            Some(Beside {
                drawing: cap::dropped_in(phasing, rotor)?,
                says,
                is_captioned: true,
                wide_mm: CAP_MM,
            })
        })
        .collect()
}

/// Where the rotor ends with its drive seated, at No. 1's firing TDC.
struct Ends {
    as_built: Clock,
    as_drawn: Clock,
}

/// A clock angle as built, and as drawn where that is another.
fn beside(as_built_deg: f64, as_drawn_deg: f64) -> String {
    let (built, drawn) = (degrees(as_built_deg), degrees(as_drawn_deg));
    if built == drawn {
        built
    } else {
        format!("{built} (as drawn {drawn})")
    }
}

/// How the rotor turns and where it ends with the drive seated, at No. 1's firing TDC.
fn rotor_rows(
    writer: &mut PageWriter,
    distributor: &Distributor,
    end: &Ends,
    put_right_first: Option<&str>,
) {
    let entry = ignition::turns_on_entry_deg(distributor);
    let ends = beside(end.as_built.degrees(), end.as_drawn.degrees());
    writer.row(
        "rotor turns",
        &format!("{}, looking down", distributor.rotation().word()),
    );
    let shaft = ShaftIn::of(distributor).filter(|_| put_right_first.is_none());
    if let Some(shaft) = &shaft {
        writer.row("the shaft first", &shaft_words(distributor, shaft));
    }
    if let Some(first) = put_right_first {
        writer.row("rotor stands at", &ends);
        writer.row("before it is let down", first);
    } else if entry == 0.0 {
        writer.row(
            "rotor ends at",
            &format!("{ends}; the drive does not turn it on its way down"),
        );
    } else {
        let start = |end| ignition::entry_start(distributor, end).degrees();
        let starts = beside(start(end.as_built), start(end.as_drawn));
        writer.row("before it is let down", &format!("rotor at {starts}"));
        writer.row(
            "as it goes home",
            &format!(
                "turns {} {}, and ends at {ends}",
                degrees(entry.abs()),
                clockwise(entry)
            ),
        );
    }
    let tooth = degrees(ignition::rotor_tooth(distributor).degrees());
    let name = if shaft.is_some() {
        "one shaft tooth"
    } else {
        "one drive tooth"
    };
    writer.row(name, &format!("{tooth} of rotor"));
    if let Some(range) = distributor.body_range {
        let range = degrees(range);
        writer.row("clamp", &format!("lets the body turn {range} either way"));
    }
}

/// Where the slot of a geared shaft starts and ends, as drawn.
fn shaft_words(distributor: &Distributor, shaft: &ShaftIn) -> String {
    let side = match distributor.coupling() {
        Coupling::CentralTongue => "either end of its slot",
        _ => "its slot's narrow side",
    };
    let turns = if shaft.turns_on_entry_deg == 0.0 {
        String::new()
    } else {
        format!(
            ", turning {} {} on its way in",
            degrees(shaft.turns_on_entry_deg.abs()),
            clockwise(shaft.turns_on_entry_deg)
        )
    };
    match shaft.end {
        Some(end) => format!("{side} ends at {}{turns}", degrees(end.degrees())),
        None => format!("its slot as it stood when it was drawn{turns}"),
    }
}
