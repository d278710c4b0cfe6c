//! `dotwise diagnose`: what was put together wrong, from what can be seen.

use std::sync::Arc;

use serde::{Serialize, Serializer};

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, Source};
use crate::angle::rounded;
use crate::diagnosis::Revolution;
use crate::diagnosis::next_look::Look;
use crate::diagnosis::observations::{self, Light, Observation, Observations};
use crate::diagnosis::verdict;
use crate::diagnosis::{Diagnosis, Fit, diagnose};
use crate::engine::{Assembly, Engine};
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::Phasing;
use crate::words::{COLUMNS, before_tdc, cylinders, folded};

/// Fits told in full: of those with the fewest faults, so many.
const MOST_FITS: usize = 6;

/// How a file of sightings is written.
const HOW_SEEN_IS_WRITTEN: &str = "\
SEEN is a text of sightings, each made without moving the crank:

  (format: 1, sightings: [
      (crank: 0.0,                      // degrees past No. 1's TDC mark, 0 to 360
       within: 3.0,                     // how well it could be read; 3 if left out
       valves: [(cylinder: 1, valve: Intake, is: Closed),
                (cylinder: 1, valve: Exhaust, is: Closed)],
       rotor: (clock: 22.0, within: 8.0),   // or rotor: (tower: 3)
       compression_felt: [1],           // thumb over the plug hole
       cam_teeth_off: 0,                // counted at the marks: + ahead, - behind
       spark: (cylinder: 1, btdc: 8.0, within: 2.0)),  // by: Strobe for a light
      (crank: 135.0, turned_on: true,   // turned forwards to here from the last
       valves: [(cylinder: 1, valve: Exhaust, is: Open)]),
  ], leads: [1, 3, 4, 2], body_turn: 0.0)   // as plugged, if traced; as turned

All but `crank` may be left out. Exit status 0 where nothing is out, 1 where
something is or nothing fits, 2 where the file cannot be used.";

#[derive(Debug, clap::Args)]
#[command(after_help = HOW_SEEN_IS_WRITTEN)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// What was seen: a `*.seen.ron` file, or `-` for standard input.
    #[arg(value_name = "SEEN")]
    seen: String,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct DiagnosisRecord<'a> {
    tried: usize,
    explained: bool,
    fits: Vec<FitRecord<'a>>,
    tell_apart: &'a [Look],
}

#[derive(Serialize)]
struct FitRecord<'a> {
    cam_teeth: i32,
    drive_teeth: i32,
    leads: Option<&'a [u8]>,
    faults: u32,
    spark_btdc_deg: Sparks,
    turns: &'a [Revolution],
    misfits: Vec<String>,
    says: String,
    mend: Vec<String>,
}

/// Each cylinder's spark before its TDC, in firing order.
struct Sparks(Vec<(u8, f64)>);

impl Serialize for Sparks {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(
            self.0
                .iter()
                .map(|(cylinder, btdc)| (cylinder.to_string(), rounded(*btdc))),
        )
    }
}

impl Sparks {
    fn of(engine: &Arc<Engine>, fit: &Fit) -> Self {
        let phasing = Phasing::as_built(engine, &fit.assembly);
        let order = engine.firing_order().iter();
        Self(
            order
                .filter_map(|&number| {
                    phasing
                        .cylinder(number)
                        .map(|one| (number, phasing.spark_btdc_deg(one)))
                })
                .collect(),
        )
    }

    /// In words, cylinders that are alike together.
    fn in_words(&self) -> String {
        let mut alike: Vec<(String, Vec<u8>)> = Vec::new();
        for (cylinder, btdc) in &self.0 {
            let comes = before_tdc(*btdc);
            match alike.iter_mut().find(|(other, _)| *other == comes) {
                Some((_, who)) => who.push(*cylinder),
                None => alike.push((comes, vec![*cylinder])),
            }
        }
        match &alike[..] {
            [(comes, who)] if who.len() > 1 => format!("every spark {comes}"),
            _ => alike
                .iter()
                .map(|(comes, who)| format!("{} {comes}", cylinders(who)))
                .collect::<Vec<_>>()
                .join("; "),
        }
    }
}

impl<'a> DiagnosisRecord<'a> {
    fn of(engine: &'a Arc<Engine>, found: &'a Diagnosis) -> Self {
        let distributor = engine.metric().distributor.is_some();
        let fits = found.fits.iter().map(|fit| FitRecord {
            cam_teeth: fit.assembly.cam_teeth,
            drive_teeth: fit.assembly.drive_teeth,
            leads: distributor.then(|| fit.leads(engine)),
            faults: fit.faults,
            spark_btdc_deg: Sparks::of(engine, fit),
            turns: &fit.turns,
            misfits: fit.misfits.iter().map(ToString::to_string).collect(),
            says: fit.describe(engine),
            mend: fit.remedies(engine),
        });
        Self {
            tried: found.tried,
            explained: found.explained,
            fits: fits.collect(),
            tell_apart: &found.tell_apart,
        }
    }
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let (engine, built) = self.engine(terminal)?;
        let source = Source::open(&self.seen)?;
        let read = observations::read(&source.text, &engine);
        let Some(mut seen) = read.sightings else {
            return Err(Error(source.report(&read.findings, terminal.err.colour)));
        };
        if let Some(leads) = built.leads {
            seen.leads = Some(leads.into_iter().map(u32::from).collect());
        }
        if built.body_turn_deg != 0.0 {
            seen.body_turn = built.body_turn_deg;
        }
        let found = diagnose(&engine, &seen);
        let answer = if self.json {
            Answer::json(&DiagnosisRecord::of(&engine, &found))?
        } else {
            Answer::text(text(&engine, &found, &seen, terminal.out))
        };
        Ok(Answer {
            err: source.report(&read.findings, terminal.err.colour),
            ..answer.not_right(!found.is_right())
        })
    }

    /// The engine, and the leads and body turn that were given beside the file.
    fn engine(&self, terminal: Terminal) -> Result<(Arc<Engine>, Assembly), Error> {
        if self.seen == "-" && self.engine.engine == "-" {
            return Err(Error::line(
                "standard input cannot hold both the engine and what was seen",
                "name a file for one of them",
            ));
        }
        let built = self.engine.as_built.assembly();
        if built.cam_teeth != 0 || built.drive_teeth != 0 {
            return Err(Error::line(
                "teeth out are what `diagnose` is to find",
                "leave out --cam-teeth and --drive-teeth; teeth counted at the marks go in the file as `cam_teeth_off`",
            ));
        }
        let phasing = self.engine.phasing(terminal)?;
        Ok((Arc::clone(phasing.engine()), built))
    }
}

fn text(
    engine: &Arc<Engine>,
    found: &Diagnosis,
    seen: &Observations,
    style: TerminalStyle,
) -> String {
    let mut out = TextWriter::new(style);
    let count = found.fits.len();
    let headline = match (found.explained, count) {
        (true, 1) => "One explains everything seen.".to_owned(),
        (true, _) => format!("{count} explain everything seen, the likeliest first."),
        (false, _) => "None explains everything seen. The nearest:".to_owned(),
    };
    out.paragraph(format!(
        "{}: {} ways of putting it together tried, on either turn of the crank. {headline}",
        engine.name(),
        found.tried
    ));
    let fewest = found.fits.first().map_or(0, |fit| fit.faults);
    let shown = found
        .fits
        .iter()
        .take_while(|fit| !found.explained || fit.faults == fewest)
        .take(MOST_FITS)
        .count();
    for (index, fit) in found.fits[..shown].iter().enumerate() {
        fit_in_full(&mut out, engine, fit, index, seen);
    }
    if count > shown {
        out.line("");
        out.line(format!(
            "    {}; --json gives them all.",
            left_out(&found.fits[shown..], fewest)
        ));
    }
    if !found.tell_apart.is_empty() {
        out.line("");
        out.headline("What to look at next, best first:");
        for look in &found.tell_apart {
            out.hanging(look.sentence(), "  - ", "    ");
        }
    }
    if !found.explained {
        out.line("");
        out.paragraph(
            "Look again at what does not fit, or write it with a larger `within`; more may be out than one part.",
        );
    }
    let by_lamp = seen
        .sightings
        .iter()
        .filter_map(|sighting| sighting.spark.as_ref())
        .any(|spark| spark.by == Light::Lamp);
    let leads_out = found
        .fits
        .first()
        .is_some_and(|fit| fit.assembly.leads.is_some());
    if by_lamp && (leads_out || !found.explained) {
        out.line("");
        out.paragraph(
            "Where a spark was read by a timing light, write `by: Strobe` beside it: the light shows the crank's mark, which cannot \
             tell 8° before TDC from 352° after.",
        );
    }
    if !found.is_right() || count > 1 {
        out.turning_caution();
    }
    out.finish()
}

/// One way of putting it together that fits, with what follows from it; the first with its
/// consequences.
fn fit_in_full(
    out: &mut TextWriter,
    engine: &Arc<Engine>,
    fit: &Fit,
    index: usize,
    seen: &Observations,
) {
    out.line("");
    let first = format!("{:>2}. ", index + 1);
    out.headline(folded(&fit.describe(engine), &first, "    ", COLUMNS));
    let mut line = |name: &str, text: &str| {
        out.hanging(text, &format!("    {name:<8}"), "            ");
    };
    line(
        "sparks",
        &format!("{}.", Sparks::of(engine, fit).in_words()),
    );
    if let Some(turns) = turns(fit, seen) {
        line("turns", &turns);
    }
    if index == 0 {
        let verdict = verdict::of(&Phasing::as_built(engine, &fit.assembly));
        line("so", &verdict.sentence);
        for consequence in &verdict.consequences {
            line("", consequence);
        }
    }
    for misfit in &fit.misfits {
        line("but", &format!("{misfit}."));
    }
    for (nth, remedy) in fit.remedies(engine).iter().enumerate() {
        line(if nth == 0 { "remedy" } else { "" }, &format!("{remedy}."));
    }
}

/// How many fits are not told in full.
fn left_out(fits: &[Fit], fewest: u32) -> String {
    let alike = fits.iter().filter(|fit| fit.faults == fewest).count();
    let have = |count: usize| if count == 1 { "has" } else { "have" };
    match (alike, fits.len() - alike) {
        (0, more) => format!("{more} more {} more parts out", have(more)),
        (alike, 0) => format!("{alike} more {} as many parts out", have(alike)),
        (alike, more) => format!(
            "{alike} more {} as many parts out, and {more} {} more",
            have(alike),
            have(more)
        ),
    }
}

/// On which turn of the crank each sighting was made that could tell; None where none could.
fn turns(fit: &Fit, seen: &Observations) -> Option<String> {
    let on = |half: Revolution| -> Option<String> {
        let tells = |sighting: &Observation| {
            !sighting.valves.is_empty()
                || sighting.rotor.is_some()
                || !sighting.compression_felt.is_empty()
        };
        let numbered = fit.turns.iter().zip(&seen.sightings).enumerate();
        let there: Vec<String> = numbered
            .filter(|(_, (turn, sighting))| **turn == half && tells(sighting))
            .map(|(i, _)| (i + 1).to_string())
            .collect();
        let about = if half == Revolution::Firing {
            "firing TDC"
        } else {
            "overlap"
        };
        match there.split_last() {
            None => None,
            Some((one, [])) => Some(format!("sighting {one} about No. 1's {about}")),
            Some((last, before)) => Some(format!(
                "sightings {} and {last} about No. 1's {about}",
                before.join(", ")
            )),
        }
    };
    let turns: Vec<String> = [Revolution::Firing, Revolution::Overlap]
        .into_iter()
        .filter_map(on)
        .collect();
    (!turns.is_empty()).then(|| format!("{}.", turns.join("; ")))
}
