//! The first page of the whole folder: what is in it and where, who builds, and what all of it rests
//! on.

use super::options::SheetOptions;
use crate::output::paper::{Over, PLAIN_MM, PageWriter};

/// Writes it and sets it before all other pages.
pub(super) fn write(writer: &mut PageWriter, wanted: &SheetOptions) {
    let (parts, pages) = (writer.parts().to_vec(), writer.page_count());
    // It is written once to know how many pages it takes itself.
    let mut trial = writer.clone();
    page(&mut trial, wanted, &parts, 1);
    let own = trial.page_count() - pages;
    page(writer, wanted, &parts, own);
    writer.put_first(pages);
}

fn page(writer: &mut PageWriter, wanted: &SheetOptions, parts: &[(String, usize)], own: usize) {
    writer.start("Contents", Over::Turning);
    writer.paragraph(
        "Everything for this engine, for the bench. Print it at 100 %, without fitting to the page: wheel and strip are cut out at their true \
         size, and each has a line to measure first. Each page can hang alone.",
        PLAIN_MM,
        false,
    );
    writer.skip(2.0);
    let rows: Vec<Vec<String>> = parts
        .iter()
        .map(|(heading, page)| {
            vec![
                heading.clone(),
                what_for(heading).to_owned(),
                (page + own + 1).to_string(),
            ]
        })
        .collect();
    writer.table(&["sheet", "what it is for", "page"], &rows);
    writer.heading("This build", 24.0);
    let blanks = [
        "engine number",
        "begun on",
        "built by",
        "second pair of eyes",
    ];
    writer.blanks(&blanks.map(str::to_owned));
    writer.rests_on(&wanted.subjects());
}

/// What a sheet is for, by its heading.
fn what_for(heading: &str) -> &'static str {
    match heading {
        "Timing card" => "the engine's figures on one page, to hang beside it",
        "Measuring" => "TDC by the stop, and the camshaft beside its card: blanks",
        "Timing marks" => "how the cam is set to the crank, and how firing is told from overlap",
        "Cap and leads" => "the distributor dropped in, and which lead goes where",
        "Setting the valves" => "every valve in the fewest turns, a line for each",
        "Degree wheel" => "to cut out, for the crank's nose",
        "Closing record" => {
            "what was looked at and measured before it is closed: to be filled in and signed"
        }
        "Degree strip for the pulley" => "to cut out, round the pulley's rim",
        _ => "the job step by step, with boxes to tick",
    }
}
