//! The assembly sheet: the job step by step, with boxes to tick, blanks for what was measured, and
//! a line to sign.

use crate::output::paper::{PLAIN_MM, PageWriter};
use crate::phasing::Phasing;
use crate::procedures::job::Job;
use crate::words::number;

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) {
    writer.start("Assembly sheet");
    for (index, step) in Job::of(phasing).steps.iter().enumerate() {
        let inner = |text: &str| writer.height(text, PLAIN_MM, 14.0) + 0.6;
        let seen: f64 = step.must_be_seen.iter().map(|seen| inner(seen)).sum();
        writer.keep(
            seen + inner(&step.action)
                + step
                    .caution
                    .map_or(0.0, |text| writer.height(text, PLAIN_MM, 25.0) + 6.0)
                + 9.0,
        );
        writer.tick(&format!("{}. {}", index + 1, step.title), 4.0, true, 0.0);
        writer.indented(&step.action, PLAIN_MM, false, 7.0);
        writer.skip(0.8);
        for seen in &step.must_be_seen {
            writer.tick(seen, PLAIN_MM, false, 7.0);
            writer.skip(0.6);
        }
        if let Some(caution) = step.caution {
            writer.skip(0.8);
            writer.caution(caution);
        }
        writer.skip(2.4);
    }
    let steps = &phasing.engine().written().steps;
    if !steps.is_empty() {
        writer.heading("Your own steps", 12.0);
        for step in steps {
            let torque = step.torque.map_or(String::new(), |torque| {
                format!(
                    ": {} N·m ({} lbf·ft)",
                    number(torque.newton_metres(), 1),
                    number(torque.pound_feet(), 1)
                )
            });
            writer.tick(&format!("{}{torque}", step.action), PLAIN_MM, false, 0.0);
            writer.skip(1.2);
        }
    }
    writer.heading("Measured", 84.0);
    let mut blanks: Vec<String> = [
        "crankshaft end float",
        "camshaft end float",
        "backlash of the cam drive",
        "positive stop, first reading",
        "positive stop, second",
        "true TDC, midway",
        "intake lobe centre",
        "exhaust lobe centre",
        "lobe separation",
        "intake to piston, least",
        "exhaust to piston, least",
    ]
    .map(str::to_owned)
    .to_vec();
    if phasing.engine().metric().distributor.is_some() {
        blanks.extend(["rotor at No. 1's firing TDC", "body turned by"].map(str::to_owned));
    }
    blanks.push("static timing".to_owned());
    writer.blanks(&blanks);
    writer.heading("Signed", 20.0);
    writer.blanks(&[
        "built by".to_owned(),
        "checked by".to_owned(),
        "date".to_owned(),
    ]);
}
