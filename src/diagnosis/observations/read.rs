//! A file of sightings read and checked against its engine.

use super::{Observations, check};
use crate::engine::Engine;
use crate::source::{self, Finding};

/// What reading a file of sightings came to.
#[derive(Clone, Debug)]
pub struct ReadObservations {
    /// What was seen, where it could be seen on this engine.
    pub sightings: Option<Observations>,
    /// What the text says, where it could be followed, whether or not it could be seen.
    pub written: Option<Observations>,
    /// Everything found, in the order of the text.
    pub findings: Vec<Finding>,
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
    let usable = findings.iter().all(|finding| !finding.is_error());
    ReadObservations {
        sightings: written.clone().filter(|_| usable),
        written,
        findings,
    }
}
