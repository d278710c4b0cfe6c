//! `dotwise order`: the firing order of an engine without papers, from where compression was felt.

#![expect(
    clippy::indexing_slicing,
    reason = "an order has an interval for each cylinder"
)]

use super::answer::{Answer, Error, Terminal};
use crate::output::terminal::TextWriter;
use crate::procedures::firing_order::{FeltCompression, Order, order};
use crate::words::{degrees, joined};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Cylinders, each with the crank angle at which it pushed the thumb off, turned on over two
    /// turns: 1=0 3=180.
    #[arg(long, num_args = 1.., value_name = "NO=DEG", required = true, value_parser = felt)]
    felt: Vec<FeltCompression>,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// One reading, as in 3=180.
fn felt(text: &str) -> Result<FeltCompression, String> {
    let slip = || "write the cylinder, =, and the crank degrees, as in 3=180".to_owned();
    let (cylinder, crank) = text.split_once('=').ok_or_else(slip)?;
    let cylinder = cylinder.trim().parse().map_err(|_| slip())?;
    let crank_deg = super::input::degrees(crank.trim())?;
    Ok(FeltCompression {
        cylinder,
        crank_deg,
    })
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let found = order(&self.felt).map_err(|error| {
            Error::line(
                format!("these readings fit no four-stroke engine. {error}"),
                error.remedy(),
            )
        })?;
        let text = || text(&found, terminal);
        Answer::without_engine(&[], terminal, self.json, || &found, text)
    }
}

fn text(found: &Order, terminal: Terminal) -> String {
    let mut out = TextWriter::new(terminal.out);
    out.headline(format!("Firing order {}", joined(&found.firing_order, "-")));
    out.paragraph(match (found.even, found.firing_order.len()) {
        (_, 1) => "One cylinder fires every 720°.".to_owned(),
        (true, _) => format!(
            "Every {}. The readings lie within {} of that, as a thumb does.",
            degrees(found.intervals_deg[0]),
            degrees(found.farthest_deg.round().max(1.0))
        ),
        (false, _) => {
            let intervals: Vec<String> = found
                .intervals_deg
                .iter()
                .map(|interval| degrees(*interval))
                .collect();
            format!(
                "Uneven: {} from each to the next. A thumb is good to about 10°: find each TDC with a stop before you write them down.",
                intervals.join(", ")
            )
        }
    });
    out.paragraph(
        "Rings, a valve hung up or a gasket may hide compression: compare with the crank's throws and the lobes on the camshaft before you \
         trust it.",
    );
    out.turning_caution();
    out.finish()
}
