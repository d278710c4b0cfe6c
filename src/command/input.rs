//! Where an engine comes from: a file, standard input, a built-in scene; and how it was put
//! together.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;
use std::sync::Arc;

use super::answer::{Error, Terminal};
use crate::engine::read::{self, Read};
use crate::engine::{Assembly, Engine, scenes};
use crate::phasing::Phasing;
use crate::source::{self, Finding, LARGEST_BYTES, Report};

/// The ENGINE of a command, and how it was put together.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct EngineArg {
    /// A file, `-` for standard input, or the name of a built-in engine.
    #[arg(value_name = "ENGINE")]
    pub(super) engine: String,
    #[command(flatten)]
    pub(super) as_built: AsBuiltArgs,
}

/// The heading that these stand under, and nothing after them.
const AS_BUILT: &str = "As built rather than as drawn";

/// As built rather than as drawn.
#[derive(Clone, Debug, Default, clap::Args)]
pub(super) struct AsBuiltArgs {
    /// The cam wheel this many teeth advanced; negative, retarded.
    #[arg(long, help_heading = AS_BUILT, value_name = "K", allow_negative_numbers = true, default_value_t = 0)]
    pub(super) cam_teeth: i32,
    /// The distributor's drive this many teeth ahead; negative, behind.
    #[arg(long, help_heading = AS_BUILT, value_name = "M", allow_negative_numbers = true, default_value_t = 0)]
    pub(super) drive_teeth: i32,
    /// The distributor's body turned against the rotor's rotation; negative, with it.
    #[arg(long, help_heading = AS_BUILT, value_name = "DEG", allow_negative_numbers = true, default_value_t = 0.0, value_parser = degrees)]
    pub(super) body_turn: f64,
    /// Leads as plugged, from No. 1's tower in the rotor's direction, as in 1,3,4,2.
    #[arg(long, help_heading = AS_BUILT, value_name = "LIST", value_delimiter = ',')]
    pub(super) leads: Option<Vec<u8>>,
}

impl AsBuiltArgs {
    /// As an assembly, not yet checked against an engine.
    pub(super) fn assembly(&self) -> Assembly {
        Assembly {
            cam_teeth: self.cam_teeth,
            drive_teeth: self.drive_teeth,
            body_turn_deg: self.body_turn,
            leads: self.leads.clone(),
        }
    }
}

/// A number of degrees from the command line: finite, and not so large that its fractions are gone.
pub(super) fn degrees(text: &str) -> Result<f64, String> {
    const MOST: f64 = 1e9;
    match text.trim_end_matches('°').parse::<f64>() {
        Ok(value) if value.abs() <= MOST => Ok(value),
        Ok(_) => Err("it must be a number of degrees between −1000000000 and 1000000000".into()),
        Err(_) => Err("it is not a number; write degrees as in 123 or -4.5".into()),
    }
}

/// A length or other measure from the command line: finite.
pub(super) fn measure(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err("it is not a number; write a measure as in 1.27".into()),
    }
}

/// A text and what to call it.
#[derive(Clone, Debug)]
pub(super) struct Source {
    /// A path, a scene's name, `standard input`.
    pub(super) name: String,
    /// What it holds.
    pub(super) text: String,
}

impl Source {
    /// Reads a file, standard input for `-`.
    pub(super) fn open(path: &str) -> Result<Self, Error> {
        let bytes = if path == "-" {
            take(io::stdin().lock())
        } else {
            File::open(path).and_then(take)
        };
        let name = if path == "-" {
            "standard input".to_owned()
        } else {
            path.to_owned()
        };
        let bytes = bytes.map_err(|error| unreadable(&name, &error))?;
        if bytes.len() > LARGEST_BYTES {
            let size = std::fs::metadata(path).map_or(bytes.len() as u64, |file| file.len());
            let finding = source::too_large(size);
            return Err(Error::line(
                format!("{name}: {}", finding.message),
                finding.fix,
            ));
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Self { name, text }),
            Err(error) => Err(Error::line(
                format!(
                    "{name} is not text: byte {} is not UTF-8",
                    error.utf8_error().valid_up_to() + 1
                ),
                "save it as UTF-8 in your editor, or name the description itself",
            )),
        }
    }

    /// The findings as they go to a terminal.
    pub(super) fn report(&self, findings: &[Finding], colour: bool) -> String {
        Report {
            source: &self.name,
            text: &self.text,
            findings,
        }
        .to_terminal(colour)
    }
}

/// No more than one byte over what is read: a file of any length costs no more than that.
fn take(reader: impl io::Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    reader
        .take(LARGEST_BYTES as u64 + 1)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn unreadable(name: &str, error: &io::Error) -> Error {
    let (what, fix) = match error.kind() {
        io::ErrorKind::NotFound => (
            "there is no such file and no such built-in engine",
            "`dotwise scenes` lists the built-in engines",
        ),
        io::ErrorKind::IsADirectory => ("it is a folder", "name a file in it"),
        io::ErrorKind::PermissionDenied => ("it may not be read", "look at the file's permissions"),
        _ => {
            return Error::line(
                format!("{name} cannot be read: {error}"),
                "name a file that can be read",
            );
        }
    };
    Error::line(format!("{name}: {what}"), fix)
}

/// An engine that was read, and how it was put together.
#[derive(Clone, Debug)]
pub(super) struct OpenedEngine {
    /// Where it came from.
    pub(super) source: Source,
    /// What reading it came to.
    pub(super) read: Read,
    /// How it was put together.
    pub(super) assembly: Assembly,
}

impl EngineArg {
    /// Reads the engine, with whatever is wrong with it: a built-in scene by its name, unless a
    /// file has that name.
    pub(super) fn open(&self) -> Result<OpenedEngine, Error> {
        let name = self.engine.as_str();
        let is_file = name != "-" && Path::new(name).exists();
        let source = match scenes::find(name) {
            Some(scene) if !is_file => Source {
                name: scene.name.to_owned(),
                text: scene.text.to_owned(),
            },
            _ => Source::open(name).map_err(|error| match scenes::closest(name) {
                Some(meant) if !is_file && name != "-" => Error::line(
                    format!("{name}: there is no such file and no such built-in engine"),
                    format!("`{meant}` was probably meant; `dotwise scenes` lists them all"),
                ),
                _ => error,
            })?,
        };
        let read = read::engine(&source.text);
        Ok(OpenedEngine {
            source,
            read,
            assembly: self.as_built.assembly(),
        })
    }

    /// The engine worked out, as it was put together.
    pub(super) fn phasing(&self, terminal: Terminal) -> Result<Phasing, Error> {
        self.open()?.phasing(terminal)
    }
}

impl OpenedEngine {
    /// The engine; where it is none, the errors as they go to standard error.
    pub(super) fn engine(&self, terminal: Terminal) -> Result<Arc<Engine>, Error> {
        let errors: Vec<Finding> = self
            .read
            .findings
            .iter()
            .filter(|finding| finding.is_error())
            .cloned()
            .collect();
        self.read
            .engine
            .clone()
            .ok_or_else(|| Error(self.source.report(&errors, terminal.err.colour)))
    }

    /// The engine worked out, as it was put together.
    pub(super) fn phasing(&self, terminal: Terminal) -> Result<Phasing, Error> {
        let engine = self.engine(terminal)?;
        let findings = self.assembly.check(&engine);
        if findings.is_empty() {
            return Ok(Phasing::as_built(&engine, &self.assembly));
        }
        let lines = findings.iter().map(|finding| {
            Error::line(
                format!("{}: {}", finding.place, finding.message),
                &finding.fix,
            )
            .0
        });
        Err(Error(lines.collect()))
    }
}
