//! The parts of a sheet, one after another.

use super::options::{SheetOptions, SheetPart};
use super::{assembly, cap, card, gears, strip, valves, wheel};
use crate::drawing::Drawing;
use crate::output::error::Error;
use crate::output::paper::PageWriter;
use crate::phasing::Phasing;

/// The pages of the parts that were asked for, in the order of [`SheetPart::ALL`].
///
/// # Errors
/// Where a part that was asked for by name cannot be had of this engine.
pub fn pages(phasing: &Phasing, wanted: &SheetOptions) -> Result<Vec<Drawing>, Error> {
    let mut writer = PageWriter::new(phasing, wanted.paper);
    let named = |part| wanted.only.contains(&part);
    for part in SheetPart::ALL {
        if !wanted.wants(part) {
            continue;
        }
        let mut written = Ok(());
        match part {
            SheetPart::Cap => written = cap::write(&mut writer, phasing),
            SheetPart::Strip => {
                let given = wanted.diameter_mm.filter(|_| named(SheetPart::Strip));
                written = strip::write(&mut writer, phasing, given);
            }
            SheetPart::Card => card::write(&mut writer, phasing),
            SheetPart::Assembly => assembly::write(&mut writer, phasing, wanted.progress.as_ref()),
            SheetPart::Gears => gears::write(&mut writer, phasing),
            SheetPart::Valves => valves::write(&mut writer, phasing),
            SheetPart::Wheel => {
                let diameter_mm = wanted.diameter_mm.unwrap_or(wheel::USUAL_MM);
                wheel::write(&mut writer, phasing, diameter_mm);
            }
        }
        // What the wheel rests on stands before its sheets, where it needs several.
        if written.is_ok() && part != SheetPart::Wheel {
            writer.rests_on(part.subjects());
        }
        // A part that was not asked for by name is left out where the engine lacks it.
        if named(part) {
            written?;
        }
    }
    Ok(writer.finish())
}
