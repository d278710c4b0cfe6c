//! `dotwise diagnose`: what was put together wrong, from what can be seen.

#![expect(
    clippy::indexing_slicing,
    reason = "what is shown is no longer than what was found"
)]

use std::io;
use std::sync::Arc;

use serde::{Serialize, Serializer};

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use super::sightings::Sightings;
use super::stage::StageArgs;
use crate::angle::rounded;
use crate::diagnosis::Revolution;
use crate::diagnosis::next_look::Look;
use crate::diagnosis::observations::{Light, Observation, Observations};
use crate::diagnosis::proof::body_not_turned;
use crate::diagnosis::stage::Stage;
use crate::diagnosis::verdict;
use crate::diagnosis::{Diagnosis, Fit, diagnose, diagnose_by};
use crate::engine::Engine;
use crate::output::json::{self, cam_teeth_by_name, tongue_half_turn};
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::output::text::rests_on;
use crate::phasing::Phasing;
use crate::words::{before_tdc, cylinders};

/// Fits told in full: of those with the fewest faults, so many.
const MOST_FITS: usize = 6;

/// How a file of sightings is written.
const HOW_SEEN_IS_WRITTEN: &str = r#"SEEN is a text of sightings, each made without moving the crank:

  (format: 1, sightings: [
      (crank: 0.0,             /* degrees past No. 1's TDC mark, 0 to 360 */
       within: 3.0,            /* how well it could be read; 3 if left out */
       valves: [(cylinder: 1, valve: Intake, is: Closed),
                (cylinder: 1, valve: Exhaust, is: Closed)],
       rotor: (clock: 22.0, within: 8.0),     /* or rotor: (tower: 3) */
       slot: (clock: 20.0),    /* geared shaft, distributor lifted off */
       compression_felt: [1],  /* thumb over the plug hole */
       cam_teeth_off: 0,       /* counted at the marks: + ahead, - behind; */
                               /* of several: {"exhaust cam": -1} */
       spark: (cylinder: 1, btdc: 8.0, within: 2.0)),
                               /* by: Strobe where a light was used */
      (crank: 135.0, turned_on: true,   /* turned forwards to here */
       stage: CoverOff,        /* CaseOpen, CoverOff, CoverOn or Fired */
       valves: [(cylinder: 1, valve: Exhaust, is: Open)]),
  ], leads: [1, 3, 4, 2],      /* as plugged, if they were traced */
  body_turn: 0.0)              /* as the distributor's body was turned */

Without a distributor `leads` are those on the coils' terminals, one coil after
another as the description has them. A plug that sparks every turn sparks on
overlap too: no spark tells the turn of such an engine.

All but `crank` may be left out. Exit status 0 where as drawn is the one way
left, 1 where something is out, several ways are left or nothing fits, 2 where
the file cannot be used. A light is proposed only once a sighting has used one:
before that the engine may not be fit to be lit."#;

#[derive(Debug, clap::Args)]
#[command(after_help = HOW_SEEN_IS_WRITTEN)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// What was seen: a `*.seen.ron` file, or `-` for standard input.
    #[arg(value_name = "SEEN")]
    seen: String,
    #[command(flatten)]
    in_sight: StageArgs,
    /// Everything is closed, as with `--stage cover-on`: of what would put it right, what leaves it
    /// closed comes first.
    #[arg(long, conflicts_with = "stage")]
    closed: bool,
    /// One JSON document instead of text, with the first 1,000 ways that fit.
    #[arg(long)]
    json: bool,
    /// Every way that fits, however many, written as it is worked out.
    #[arg(long, requires = "json")]
    all: bool,
}

/// As many ways that fit are given as JSON unless all are asked for: after so many the next look is
/// what helps.
const MOST_FITS_AS_JSON: usize = 1000;

#[derive(Serialize)]
struct DiagnosisRecord<'a> {
    tried: usize,
    explained: bool,
    headline: String,
    fits_in_all: usize,
    fits: FitRecords<'a>,
    tell_apart: &'a [Look],
    rests_on: &'a [String],
}

#[derive(Serialize)]
struct FitRecord<'a> {
    cam_teeth: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    cam_teeth_by_camshaft: Option<serde_json::Map<String, serde_json::Value>>,
    drive_teeth: i32,
    /// Only of a central tongue on a geared shaft.
    #[serde(skip_serializing_if = "Option::is_none")]
    tongue_half_turn: Option<bool>,
    leads: Option<&'a [u8]>,
    faults: u32,
    spark_btdc_deg: Sparks,
    turns: &'a [Revolution],
    misfits: Vec<String>,
    says: String,
    mend: Vec<String>,
}

/// Ways that fit, each worked out when it is written: all of them together need not be held.
struct FitRecords<'a> {
    engine: &'a Arc<Engine>,
    stage: Stage,
    fits: &'a [Fit],
}

impl Serialize for FitRecords<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let engine = self.engine;
        serializer.collect_seq(self.fits.iter().map(|fit| FitRecord {
            cam_teeth: fit.assembly.cam_teeth,
            cam_teeth_by_camshaft: cam_teeth_by_name(engine, fit.assembly.cams()),
            drive_teeth: fit.assembly.drive_teeth,
            tongue_half_turn: tongue_half_turn(engine, &fit.assembly),
            leads: engine.has_leads().then(|| fit.leads(engine)),
            faults: fit.faults,
            spark_btdc_deg: Sparks::of(engine, fit),
            turns: &fit.turns,
            misfits: fit.misfits.iter().map(ToString::to_string).collect(),
            says: fit.describe(engine),
            mend: fit.remedies(engine, self.stage),
        }))
    }
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

/// What there is to tell.
struct Told<'a> {
    engine: &'a Arc<Engine>,
    seen: &'a Observations,
    found: &'a Diagnosis,
    stage: Stage,
    rests_on: &'a [String],
}

impl<'a> DiagnosisRecord<'a> {
    /// The first `most` of the fits, and how many there are.
    fn of(told: &'a Told<'_>, most: usize) -> Self {
        let Told {
            engine,
            found,
            stage,
            rests_on,
            ..
        } = told;
        Self {
            tried: found.tried,
            explained: found.explained,
            headline: found.headline(),
            fits_in_all: found.fits.len(),
            fits: FitRecords {
                engine,
                stage: *stage,
                fits: &found.fits[..found.fits.len().min(most)],
            },
            tell_apart: &found.tell_apart,
            rests_on,
        }
    }
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let mut sightings = Sightings::of("diagnose", &self.engine, Some(&self.seen), terminal)?;
        let body = body_not_turned(&sightings.engine, &sightings.seen);
        sightings.also_rests_on(body);
        let (engine, seen) = (&sightings.engine, &sightings.seen);
        let found = if self.in_sight.is_given() {
            diagnose_by(engine, seen, &self.in_sight.sights(engine)?)
        } else {
            diagnose(engine, seen)
        };
        let last = seen.sightings.last().and_then(|sighting| sighting.stage);
        let told = Told {
            engine: &sightings.engine,
            seen: &sightings.seen,
            found: &found,
            stage: match last {
                _ if self.closed => Stage::CoverOn,
                Some(last) if !self.in_sight.is_given() => last,
                _ => self.in_sight.stage(engine)?,
            },
            rests_on: &sightings.rests_on,
        };
        let answer = if self.all {
            json::stream(&DiagnosisRecord::of(&told, usize::MAX), io::stdout().lock()).map_err(
                |error| {
                    Error::line(
                        format!("the answer could not be written: {error}"),
                        "leave out --all, or send it where there is room",
                    )
                },
            )?;
            Answer::default()
        } else if self.json {
            Answer::json(&DiagnosisRecord::of(&told, MOST_FITS_AS_JSON))?
        } else {
            Answer::text(text(&told, terminal.out))
        };
        Ok(sightings.beside(answer.not_right(!found.is_right())))
    }
}

fn text(told: &Told<'_>, style: TerminalStyle) -> String {
    let Told {
        engine,
        seen,
        found,
        ..
    } = told;
    let mut out = TextWriter::new(style);
    let count = found.fits.len();
    out.headline(format!("{}. {}", engine.name(), found.headline()));
    if !found.is_right() || count > 1 {
        out.turning_caution();
    }
    let fewest = found.fits.first().map_or(0, |fit| fit.faults);
    let shown = found
        .fits
        .iter()
        .take_while(|fit| !found.explained || fit.faults == fewest)
        .take(MOST_FITS)
        .count();
    for (index, fit) in found.fits[..shown].iter().enumerate() {
        fit_in_full(&mut out, told, fit, index);
    }
    if count > shown {
        out.line("");
        out.line(format!(
            "    {}; --json --all gives them all.",
            left_out(&found.fits[shown..], fewest)
        ));
    }
    if found.explained && !found.fits.iter().any(|fit| fit.faults == 0) {
        out.line("");
        out.paragraph(
            "Once it is put right, begin a new file of sightings: what was seen before does not hold any more.",
        );
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
    out.finish() + &rests_on(told.rests_on, style)
}

/// One way of putting it together that fits, with its sparks and what would put it right; where it
/// is the only one, or the nearest, with its consequences.
fn fit_in_full(out: &mut TextWriter, told: &Told<'_>, fit: &Fit, index: usize) {
    let (engine, found) = (told.engine, told.found);
    out.line("");
    let first = format!("{:>2}. ", index + 1);
    let only = found.fits.len() == 1 || !found.explained;
    if only {
        out.strong_hanging(fit.describe(engine), &first, "    ");
    } else {
        let is_drawn = fit.assembly.is_as_drawn();
        let words = if is_drawn {
            "As drawn.".to_owned()
        } else {
            fit.describe(engine)
        };
        out.hanging(words, &first, "    ");
    }
    let mut line = |name: &str, text: &str| {
        out.hanging(text, &format!("    {name:<8}"), "            ");
    };
    line(
        "sparks",
        &format!("{}.", Sparks::of(engine, fit).in_words()),
    );
    if let Some(turns) = turns(fit, told.seen) {
        line("turns", &turns);
    }
    if index == 0 && only {
        let verdict = verdict::of(&Phasing::as_built(engine, &fit.assembly));
        line("so", &verdict.sentence);
        for consequence in &verdict.consequences {
            line("", consequence);
        }
    }
    for misfit in &fit.misfits {
        line("but", &format!("{misfit}."));
    }
    for (nth, remedy) in fit.remedies(engine, told.stage).iter().enumerate() {
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
