//! A file of sightings read and checked against its engine.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the sightings of one text"
)]

use super::{CRANK_WITHIN_DEG, Observations, ROTOR_WITHIN_DEG, SPARK_WITHIN_DEG, check};
use crate::engine::Engine;
use crate::source::{self, Finding, Spans};
use crate::words::{degrees, list};

/// What reading a file of sightings came to.
#[derive(Clone, Debug)]
pub struct ReadObservations {
    /// What was seen, where it could be seen on this engine.
    pub sightings: Option<Observations>,
    /// What the text says, where it could be followed, whether or not it could be seen.
    pub written: Option<Observations>,
    /// What was found, in the order of the text: [`source::MOST_FINDINGS`] of it at most.
    pub findings: Vec<Finding>,
    /// How many more findings there were.
    pub more: usize,
    /// What was taken for how well things could be read, where the text does not state it: a
    /// sentence each.
    pub rests_on: Vec<String>,
}

/// Reads sightings and checks them against their engine.
///
/// ```
/// use dotwise::diagnosis::observations;
/// use dotwise::engine::scenes::BENCH;
/// let read = observations::read("(format: 1, sightings: [(crank: 800.0, cam_teeth_off: 1)])", &BENCH.engine());
/// assert!(read.sightings.is_none());
/// assert_eq!(read.findings[0].place, "sightings[0].crank");
/// assert_eq!(read.findings[0].fix, "as a place of the crank that is 80°");
/// ```
pub fn read(text: &str, engine: &Engine) -> ReadObservations {
    let (written, mut findings) = source::ron::<Observations>(text);
    if let Some(written) = &written {
        findings.extend(check::findings(written, engine));
    }
    source::place(text, &mut findings);
    let more = source::keep_first(&mut findings);
    let usable = findings.iter().all(|finding| !finding.is_error());
    ReadObservations {
        sightings: written.clone().filter(|_| usable),
        rests_on: written
            .as_ref()
            .map_or_else(Vec::new, |seen| taken(text, seen)),
        written,
        findings,
        more,
    }
}

/// What was taken for each `within` that is not stated.
fn taken(text: &str, seen: &Observations) -> Vec<String> {
    let spans = Spans::of(text);
    let sightings = || seen.sightings.iter().enumerate();
    let not_stated =
        |at: usize, field: &str| spans.exactly(&format!("sightings[{at}]{field}")).is_none();
    let numbers = |of: &dyn Fn(usize) -> bool| -> Vec<usize> {
        sightings()
            .map(|(at, _)| at)
            .filter(|at| of(*at))
            .map(|at| at + 1)
            .collect()
    };
    let kinds = [
        (
            numbers(&|at| not_stated(at, ".within")),
            "crank mark",
            CRANK_WITHIN_DEG,
        ),
        (
            numbers(&|at| {
                let rotor = seen.sightings[at].rotor.as_ref();
                rotor.is_some_and(|rotor| rotor.clock.is_some() && rotor.within.is_none())
            }),
            "rotor",
            ROTOR_WITHIN_DEG,
        ),
        (
            numbers(&|at| seen.sightings[at].spark.is_some() && not_stated(at, ".spark.within")),
            "spark",
            SPARK_WITHIN_DEG,
        ),
    ];
    let sentence = |(at, what, within): (Vec<usize>, &str, f64)| {
        let (which, it) = match &at[..] {
            [] => return None,
            [one] => (format!("sighting {one}"), format!("the {what}")),
            several if several.len() <= MOST_NAMED => (
                format!("sightings {}", list(several)),
                format!("the {what}"),
            ),
            several => (
                format!("{} sightings", several.len()),
                format!("the {what}"),
            ),
        };
        Some(format!(
            "`within` is not stated for {it} in {which}: read to within {} was taken.",
            degrees(within)
        ))
    };
    kinds.into_iter().filter_map(sentence).collect()
}

/// Sightings named by number at most; of more, how many they are.
const MOST_NAMED: usize = 6;
