//! The cap and its leads, from above.

use crate::angle::{Clock, CrankAngle, Direction};
use crate::description::Distributor;
use crate::drawing::cap;
use crate::laws::ignition;
use crate::output::error::Error;
use crate::output::paper::{PLAIN_MM, PageWriter};
use crate::phasing::Phasing;
use crate::words::{clockwise, number};

/// A tenth of a degree is more than can be seen on a cap.
fn degrees(value: f64) -> String {
    format!("{}°", number(value, 1))
}

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) -> Result<(), Error> {
    let drawing = cap::drop_in(phasing).ok_or(Error::NoDistributor)?;
    let distributor = phasing
        .engine()
        .metric()
        .distributor
        .as_ref()
        .ok_or(Error::NoDistributor)?;
    writer.start("Cap and leads");
    writer.paragraph(
        "Looking down on the cap, the crank at No. 1's firing TDC. Straight up is your reference mark, 0°; degrees run clockwise.",
        PLAIN_MM,
        false,
    );
    let reading = phasing.at(CrankAngle::new(0.0));
    let wide = if phasing.engine().cylinder_count() > 6 {
        92.0
    } else {
        112.0
    };
    writer.draw(&drawing, wide);
    if let Some(rotor) = reading.rotor {
        rotor_rows(writer, distributor, rotor.clock);
    }
    writer.heading("Leads, in the rotor's direction", 24.0);
    let rows: Vec<Vec<String>> = phasing
        .towers()
        .iter()
        .zip(phasing.leads())
        .enumerate()
        .map(|(index, (tower, lead))| {
            vec![
                format!("{}", index + 1),
                degrees(tower.degrees()),
                format!("No. {lead}"),
            ]
        })
        .collect();
    writer.table(&["tower", "stands at", "lead to"], &rows);
    Ok(())
}

/// How the rotor turns and where it ends with the drive seated, at No. 1's firing TDC.
fn rotor_rows(writer: &mut PageWriter, distributor: &Distributor, end: Clock) {
    let entry = ignition::turns_on_entry_deg(distributor);
    let ends = degrees(end.degrees());
    writer.row(
        "rotor turns",
        &format!("{}, looking down", distributor.rotation.word()),
    );
    if entry == 0.0 {
        writer.row(
            "rotor ends at",
            &format!("{ends}; the drive does not turn it on its way down"),
        );
    } else {
        let start = end.turned(Direction::Clockwise, -entry);
        writer.row(
            "before it is let down",
            &format!("rotor at {} (drawn dashed)", degrees(start.degrees())),
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
    writer.row("one drive tooth", &format!("{tooth} of rotor"));
    if let Some(range) = distributor.body_range {
        let range = degrees(range);
        writer.row("clamp", &format!("lets the body turn {range} either way"));
    }
}
