//! `dotwise prove`: the fewest looks after which nothing but as drawn is left.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};

use super::answer::{Answer, Error, Terminal};
use super::build_file::BuildFile;
use super::input::EngineArg;
use super::output::OutputArg;
use super::sightings::Sightings;
use super::stage::StageArgs;
use crate::angle::rounded;
use crate::diagnosis::diagnose;
use crate::diagnosis::fault;
use crate::diagnosis::next_look::LookAt;
use crate::diagnosis::proof::{Proof, ProofLook, clamp_taken, prove};
use crate::diagnosis::stage::Stage;
use crate::engine::{Assembly, Engine};
use crate::output::json::{cam_teeth_by_name, tongue_half_turn};
use crate::output::paper::Paper;
use crate::output::sheet;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::output::text::{as_built, rests_on};
use crate::phasing::Phasing;
use crate::words::{capitalised, counted};

/// Ways left that are given as JSON: after so many the next look is what helps.
const MOST_LEFT: usize = 1000;
/// Ways that cannot be told apart here, told one by one.
const MOST_HIDDEN: usize = 6;

/// What the exit status says.
const EXIT_STATUS: &str = "\
Exit status 0 where the looks leave nothing but as drawn; 1 where something is
hidden at this stage, where what was seen rules out as drawn, or where valves
meet pistons as drawn; 2 where the file cannot be used.";

#[derive(Debug, clap::Args)]
#[command(after_help = EXIT_STATUS)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// What was seen already: a `*.seen.ron` file, or `-` for standard input.
    #[arg(value_name = "SEEN")]
    seen: Option<String>,
    #[command(flatten)]
    in_sight: StageArgs,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
    /// Write the closing record there, empty or filled from SEEN: the file's ending, .pdf, .svg or
    /// .html, says what is written.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The build file whose readings the record has.
    #[arg(long, value_name = "FILE", requires = "output")]
    build: Option<PathBuf>,
    /// Replace the file if it is there.
    #[arg(long, requires = "output")]
    force: bool,
    /// The record's paper.
    #[arg(long, value_name = "PAPER", value_enum, ignore_case = true, default_value_t = Paper::A4, requires = "output")]
    paper: Paper,
}

#[derive(Serialize)]
struct ProofRecord<'a> {
    stage: &'static str,
    ways: usize,
    can_be_right: bool,
    looks: Vec<LookRecord<'a>>,
    shortest: bool,
    left: Vec<HiddenRecord<'a>>,
    cannot_tell_here: Vec<HiddenRecord<'a>>,
    valve_clearance: &'static str,
    rests_on: &'a [String],
}

struct LookRecord<'a>(&'a ProofLook);

impl Serialize for LookRecord<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(look) = self;
        let mut fields = serializer.serialize_struct("Look", 4)?;
        fields.serialize_field("crank_deg", &rounded(look.crank_deg))?;
        fields.serialize_field("look", &look.look)?;
        fields.serialize_field("right", &look.right)?;
        fields.serialize_field("leaves", &look.leaves)?;
        fields.end()
    }
}

#[derive(Serialize)]
struct HiddenRecord<'a> {
    cam_teeth: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    cam_teeth_by_camshaft: Option<serde_json::Map<String, serde_json::Value>>,
    drive_teeth: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    tongue_half_turn: Option<bool>,
    leads: Option<&'a [u8]>,
    says: String,
    stage: Option<&'static str>,
}

impl<'a> HiddenRecord<'a> {
    fn of(engine: &Engine, assembly: &'a Assembly, stage: Option<Stage>) -> Self {
        Self {
            cam_teeth: assembly.cam_teeth,
            cam_teeth_by_camshaft: cam_teeth_by_name(engine, assembly.cams()),
            tongue_half_turn: tongue_half_turn(engine, assembly),
            drive_teeth: assembly.drive_teeth,
            leads: assembly.leads.as_deref(),
            says: fault::describe(engine, assembly),
            stage: stage.map(Stage::word),
        }
    }
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let seen = self.seen.as_deref();
        let mut sightings = Sightings::of("prove", &self.engine, seen, terminal)?;
        let engine = &Arc::clone(&sightings.engine);
        let drawn = Phasing::as_drawn(engine);
        let meets = drawn.valve_clearance().meets();
        let proof = prove(
            engine,
            &sightings.seen,
            self.in_sight.stage(engine)?,
            &self.in_sight.without,
        );
        let clamp = clamp_taken(&sightings.engine, &sightings.seen, &proof.looks);
        sightings.also_rests_on(clamp);
        let answer = if let Some(output) = &self.output {
            self.record(output, &sightings, &drawn, &proof, terminal)?
        } else if self.json {
            let left = proof.left.iter().take(MOST_LEFT);
            let hidden = proof.cannot_tell_here.iter();
            Answer::json(&ProofRecord {
                valve_clearance: drawn.valve_clearance().word(),
                stage: proof.stage.word(),
                ways: proof.ways,
                can_be_right: proof.can_be_right,
                looks: proof.looks.iter().map(LookRecord).collect(),
                shortest: proof.shortest,
                left: left
                    .map(|assembly| HiddenRecord::of(engine, assembly, None))
                    .collect(),
                cannot_tell_here: hidden
                    .map(|(assembly, stage)| HiddenRecord::of(engine, assembly, *stage))
                    .collect(),
                rests_on: &sightings.rests_on,
            })?
        } else {
            let text = if meets {
                let mut out = TextWriter::new(terminal.out);
                out.paragraph("No looks are given that turn the crank past there: as it is drawn it cannot be turned.");
                out.finish()
            } else {
                text(engine, &proof, self.seen.is_some(), terminal.out)
            };
            let over = as_built(&drawn, terminal.out);
            Answer::text(over + &text + &rests_on(&sightings.rests_on, terminal.out))
        };
        let wrong = meets || !proof.can_be_right || !proof.cannot_tell_here.is_empty();
        Ok(sightings.beside(answer.not_right(wrong)))
    }
}

impl Args {
    /// The closing record, written.
    fn record(
        &self,
        output: &Path,
        sightings: &Sightings,
        drawn: &Phasing,
        proof: &Proof,
        terminal: Terminal,
    ) -> Result<Answer, Error> {
        let output = OutputArg {
            output: output.to_path_buf(),
            force: self.force,
            json: self.json,
        };
        output.page_format()?;
        let seen = &sightings.seen;
        let found = (!seen.sightings.is_empty()).then(|| diagnose(&sightings.engine, seen));
        let kept = self.build.as_ref().map(|path| {
            let kept = BuildFile::read(path, &sightings.engine, false, terminal);
            kept.map(|kept| kept.progress)
        });
        let kept = kept.transpose()?;
        let build = kept.as_ref();
        let pages = sheet::record(drawn, proof, seen, found.as_ref(), build, self.paper);
        let title = format!("{}, closing record", sightings.engine.name());
        let what = format!("closing record, {}", counted(pages.len(), "page", "pages"));
        let answer = output.write_pages(drawn, sheet::RECORD, terminal, &title, &pages, &what)?;
        if proof.can_be_right || self.json || output.is_standard() {
            return Ok(answer);
        }
        // Whoever files the record away is told what it says.
        let mut says = TextWriter::new(terminal.out);
        says.caution("What was seen rules out that everything is as drawn: the record says so, and is no leave to close anything.");
        let out = [says.finish().into_bytes(), answer.out].concat();
        Ok(Answer { out, ..answer })
    }
}

fn text(engine: &Engine, proof: &Proof, begun: bool, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    let (name, ways) = (engine.name(), proof.ways);
    if !proof.can_be_right {
        out.headline(format!(
            "{name}: what was seen rules out that everything is as drawn. No look can prove it now."
        ));
        out.line("");
        out.paragraph("`dotwise diagnose` with the same sightings says what is out, and what would put it right.");
        return out.finish();
    }
    let after = if proof.cannot_tell_here.is_empty() {
        "nothing but as drawn is left"
    } else {
        "all that can be told here is told"
    };
    let many = match proof.looks.len() {
        0 if ways == 1 => {
            out.headline(format!(
                "{name}: proved. Nothing but as drawn is left of what explains everything seen."
            ));
            return out.finish();
        }
        0 => {
            out.headline(format!(
                "{name}: all that can be told {} is told: {ways} ways of putting it together are left.",
                proof.stage.phrase()
            ));
            hidden(&mut out, engine, proof);
            return out.finish();
        }
        1 => "one look".to_owned(),
        count => format!("{count} looks"),
    };
    let shortest = if proof.shortest {
        "Fewer will not do"
    } else {
        "Fewer might do: beyond five the shortest list is not searched for"
    };
    let of = if begun {
        format!("the {ways} ways of putting it together that explain what was seen")
    } else {
        format!("{ways} ways of putting it together")
    };
    out.headline(format!(
        "{name}: {many} after which, of {of}, {after}. {shortest}."
    ));
    out.turning_caution();
    out.line("");
    if !begun {
        out.paragraph(
            "Begin at the first place below. If what is seen there is not right, turn the crank one whole turn, forwards, and look again: \
             the crank's own mark cannot tell which of its two turns it is on. Then go on, forwards.",
        );
        out.line("");
    }
    let (mut place, mut before) = (None, ways);
    for (index, look) in proof.looks.iter().enumerate() {
        let mark = look.crank_deg;
        let again = look.turns_the_crank()
            && place.replace(mark) == Some(mark)
            && !matches!(look.at, LookAt::Dots(_));
        let at = if again {
            "there too".to_owned()
        } else {
            look.place_words()
        };
        let left = match (look.leaves, std::mem::replace(&mut before, look.leaves)) {
            (1, before) if before > 1 => "That leaves as drawn alone".to_owned(),
            (left, before) if left == before => {
                let left = counted(left, "way is", "ways are");
                format!("That tells which turn of the crank this is; {left} left as before")
            }
            (left, _) => format!("That leaves {left} ways"),
        };
        out.hanging(
            format!(
                "{}, {}: right is {}. {left}.",
                capitalised(&at),
                look.look,
                look.right
            ),
            &format!("{:>2}. ", index + 1),
            "    ",
        );
    }
    out.line("");
    out.paragraph(
        "If one is not right, stop there: enter what was seen for `dotwise diagnose`, which says what is out and what would put it right.",
    );
    let by_the_rotor = |look: &ProofLook| matches!(look.at, LookAt::RotorClock | LookAt::Slot);
    if proof.stage == Stage::CaseOpen && proof.looks.iter().any(by_the_rotor) {
        out.line("");
        out.paragraph("Where the distributor is not in yet, ask with `--without rotor`.");
    }
    hidden(&mut out, engine, proof);
    out.finish()
}

/// What no look here can tell from as drawn.
fn hidden(out: &mut TextWriter, engine: &Engine, proof: &Proof) {
    if proof.cannot_tell_here.is_empty() {
        return;
    }
    out.line("");
    out.headline(format!(
        "What no look {} can tell from as drawn:",
        proof.stage.phrase()
    ));
    for (assembly, stage) in proof.cannot_tell_here.iter().take(MOST_HIDDEN) {
        let when = match stage {
            Some(stage) => format!("It shows {}.", stage.phrase()),
            None => "No look tells it apart.".to_owned(),
        };
        let words = format!("{} {when}", fault::describe(engine, assembly));
        out.hanging(words, "  - ", "    ");
    }
    match proof.cannot_tell_here.len().saturating_sub(MOST_HIDDEN) {
        0 => {}
        more => out.line(format!(
            "    {} more; --json gives them all.",
            counted(more, "way", "ways")
        )),
    }
}
