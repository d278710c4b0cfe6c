//! The parts of a sheet, one after another.

use super::options::{SheetOptions, SheetPart};
use super::{assembly, cap, card, contents, gears, measure, record, strip, valves, wheel};
use crate::diagnosis::Observations;
use crate::diagnosis::proof::prove;
use crate::drawing::Drawing;
use crate::output::error::Error;
use crate::output::paper::PageWriter;
use crate::phasing::Phasing;

/// The pages of the parts that were asked for, in the order of [`SheetPart::ALL`]; of all of them under
/// a page of contents.
///
/// # Errors
/// Where a part that was asked for by name cannot be had of this engine.
pub fn pages(phasing: &Phasing, wanted: &SheetOptions) -> Result<Vec<Drawing>, Error> {
    let mut writer = PageWriter::new(phasing, wanted.paper);
    for part in SheetPart::ALL {
        if !wanted.wants(part) {
            continue;
        }
        let written = writer.fill(|writer| {
            write(writer, phasing, part, wanted)?;
            // What the wheel rests on stands before its sheets, where it needs several; the record says
            // it with what its looks rest on.
            if !matches!(part, SheetPart::Wheel | SheetPart::Record) {
                writer.rests_on(part.subjects());
            }
            Ok(())
        });
        // A part that was not asked for by name is left out where the engine lacks it.
        if wanted.only.contains(&part) {
            written?;
        }
    }
    if wanted.is_folder() {
        contents::write(&mut writer, wanted);
    }
    Ok(writer.finish())
}

fn write(
    writer: &mut PageWriter,
    phasing: &Phasing,
    part: SheetPart,
    wanted: &SheetOptions,
) -> Result<(), Error> {
    let progress = wanted.progress.as_ref();
    match part {
        SheetPart::Cap => return cap::write(writer, phasing),
        SheetPart::Strip => {
            let is_named = wanted.only.contains(&SheetPart::Strip);
            let given = wanted.diameter_mm.filter(|_| is_named);
            return strip::write(writer, phasing, given);
        }
        SheetPart::Card => card::write(writer, phasing),
        SheetPart::Assembly => assembly::write(writer, phasing, progress),
        SheetPart::Measure => measure::write(writer, phasing, progress),
        SheetPart::Gears => gears::write(writer, phasing, wanted),
        SheetPart::Valves => valves::write(writer, phasing),
        SheetPart::Wheel => {
            let usual_mm = wheel::usual_mm(phasing.engine().written().units);
            wheel::write(writer, phasing, wanted.diameter_mm.unwrap_or(usual_mm));
        }
        SheetPart::Record => {
            let nothing = Observations::default();
            let engine = phasing.engine();
            let proof = prove(engine, &nothing, wanted.stage, &wanted.without);
            let drawn = Phasing::as_drawn(engine);
            record::write(writer, &drawn, &proof, &nothing, None, progress);
        }
    }
    Ok(())
}
