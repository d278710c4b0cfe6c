//! The cap and its leads, from above.

use super::options::SheetPart;
use crate::angle::{Clock, CrankAngle};
use crate::description::{Coupling, Distributor};
use crate::drawing::View as _;
use crate::drawing::cap::{self, Cap};
use crate::laws::ignition;
use crate::output::as_built::first;
use crate::output::error::Error;
use crate::output::paper::{Over, PLAIN_MM, PageWriter};
use crate::phasing::Phasing;
use crate::procedures::dropin::ShaftIn;
use crate::words::{clockwise, degrees};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) -> Result<(), Error> {
    let first = first(phasing);
    let at_firing_tdc = CrankAngle::new(0.0);
    let (reading, drawn) = (
        phasing.at(at_firing_tdc),
        Phasing::as_drawn(phasing.engine()),
    );
    let drawing = match first {
        // No way in is shown where the crank cannot be turned to it.
        Some(_) => Cap::new(phasing).map(|cap| cap.at(&reading)),
        None => cap::drop_in(phasing),
    };
    let drawing = drawing.ok_or(Error::NoDistributor)?;
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
    let wide = if phasing.engine().cylinder_count() > 6 {
        92.0
    } else {
        112.0
    };
    let shaft = phasing.engine().metric().distributor.as_ref();
    let shaft = shaft.is_some_and(Distributor::is_on_geared_shaft);
    let rows = 5 + usize::from(shaft) + phasing.leads().len() + 2;
    let follows = PageWriter::rows_height(rows) + writer.rests_on_height(SheetPart::Cap.subjects());
    writer.draw(&drawing, wide, follows + 4.0);
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
                format!("{}", index + 1),
                beside(tower.degrees(), drawn_tower.degrees()),
                lead,
            ]
        })
        .collect();
    writer.table(&["tower", "stands at", "lead to"], &rows);
    Ok(())
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
        writer.row(
            "before it is let down",
            &format!("rotor at {starts}; dashed above"),
        );
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
