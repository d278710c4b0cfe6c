//! Where an engine comes from: a file, standard input, a built-in scene; and how it was put
//! together.

use std::io;
use std::path::Path;
use std::sync::Arc;

use super::answer::{Error, Terminal};
use crate::engine::read::{self, Read};
use crate::engine::{Assembly, AssemblyFault, Engine, scenes};
use crate::laws::gear_train::CamTeeth;
use crate::phasing::Phasing;
use crate::source::{self, Finding, Report, Unreadable};
use crate::words::{Units, counted, joined};

/// The ENGINE of a command, and how it was put together.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct EngineArg {
    /// A file, `-` for standard input, or the name of a built-in engine.
    #[arg(value_name = "ENGINE")]
    pub(super) engine: String,
    /// Of an engine with two plugs a cylinder: about the second ignition in the first's place.
    #[arg(long)]
    pub(super) second_ignition: bool,
    #[command(flatten)]
    pub(super) as_built: AsBuiltArgs,
}

/// The heading that these stand under, and nothing after them.
const AS_BUILT: &str = "As built rather than as drawn";

/// As built rather than as drawn.
#[derive(Clone, Debug, Default, clap::Args)]
pub(super) struct AsBuiltArgs {
    /// The cam wheel this many teeth advanced; negative, retarded. Of several camshafts every one,
    /// or one by its name, as in "exhaust cam=-1"; may be given again.
    #[arg(long, help_heading = AS_BUILT, value_name = "K", allow_negative_numbers = true, default_value = "0", value_parser = cam_teeth)]
    cam_teeth: Vec<CamTeethArg>,
    /// The distributor's drive this many teeth ahead; negative, behind.
    #[arg(long, help_heading = AS_BUILT, value_name = "M", allow_negative_numbers = true, default_value_t = 0)]
    pub(super) drive_teeth: i32,
    /// The central tongue home half a turn out in its geared shaft.
    #[arg(long, help_heading = AS_BUILT)]
    pub(super) tongue_half_turn: bool,
    /// The distributor's body turned against the rotor's rotation; negative, with it.
    #[arg(long, help_heading = AS_BUILT, value_name = "DEG", allow_negative_numbers = true, default_value_t = 0.0, value_parser = degrees)]
    pub(super) body_turn: f64,
    /// Leads as plugged, from No. 1's tower in the rotor's direction, as in 1,3,4,2; on coils, at
    /// their terminals, one coil after another.
    #[arg(long, help_heading = AS_BUILT, value_name = "LIST", value_delimiter = ',')]
    pub(super) leads: Option<Vec<u8>>,
}

impl AsBuiltArgs {
    /// As an assembly of this engine, and what of it the engine cannot have.
    pub(super) fn assembly(&self, engine: &Engine) -> (Assembly, Vec<Finding>) {
        let (mut cams, mut findings) = (CamTeeth::default(), Vec::new());
        for moved in &self.cam_teeth {
            match moved {
                CamTeethArg::Every(teeth) => {
                    cams = CamTeeth::alike(engine.camshaft_count(), *teeth);
                }
                CamTeethArg::One(name, teeth) => match engine.camshaft_named(name) {
                    Some(camshaft) => cams = cams.with(camshaft, *teeth),
                    None => findings.push(no_such_camshaft(name, engine)),
                },
            }
        }
        let assembly = Assembly {
            drive_teeth: self.drive_teeth,
            tongue_half_turn: self.tongue_half_turn,
            body_turn_deg: self.body_turn,
            // As drawn nothing is other than as drawn.
            leads: self
                .leads
                .clone()
                .filter(|leads| leads != engine.lead_order()),
            ..Assembly::default()
        }
        .with_cams(cams);
        findings.extend(assembly.check(engine));
        (assembly, findings)
    }

    /// Whether any wheel or drive is said to be out.
    pub(super) fn moves_teeth(&self) -> bool {
        let cam = self.cam_teeth.iter().any(|moved| match moved {
            CamTeethArg::Every(teeth) | CamTeethArg::One(_, teeth) => *teeth != 0,
        });
        cam || self.drive_teeth != 0 || self.tongue_half_turn
    }
}

/// Teeth out of every camshaft's wheel, or of one's.
#[derive(Clone, Debug)]
enum CamTeethArg {
    Every(i32),
    One(String, i32),
}

/// Teeth out as in `-1`, or of one camshaft by its name or by how it begins, as in
/// `exhaust cam=-1`.
fn cam_teeth(text: &str) -> Result<CamTeethArg, String> {
    let number = |text: &str| {
        let teeth = text.trim().parse::<i32>();
        teeth.map_err(|error| error.to_string())
    };
    match text.rsplit_once('=') {
        None => number(text).map(CamTeethArg::Every),
        Some((name, teeth)) => {
            number(teeth).map(|teeth| CamTeethArg::One(name.trim().to_owned(), teeth))
        }
    }
}

fn no_such_camshaft(name: &str, engine: &Engine) -> Finding {
    let names: Vec<&str> = engine.camshaft_names().collect();
    let fix = if engine.has_several_camshafts() {
        format!(
            "name one of {}, or begin its name so that no other's begins so",
            joined(&names, ", ")
        )
    } else {
        "leave the name out: it has one camshaft".to_owned()
    };
    Finding::error(AssemblyFault::NoSuchCamshaft, "--cam-teeth")
        .message(format!(
            "no one camshaft of this engine is called `{name}`, or begins so"
        ))
        .why("teeth out belong to one wheel, or, without a name, to every one")
        .fix(fix)
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

/// A length from the command line, in the units that stand after it or else the file's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Length {
    value: f64,
    units: Option<Units>,
}

impl Length {
    /// In millimetres, where the file is in these units.
    pub(super) fn millimetres(self, file: Units) -> f64 {
        self.value * self.units.unwrap_or(file).millimetres()
    }
}

/// A length as in `0.01mm`, `0.001 in` or `1.27`: finite, and no larger than anything is.
pub(super) fn length(text: &str) -> Result<Length, String> {
    const MOST: f64 = 1e9;
    let small = text.trim().to_ascii_lowercase();
    let (figures, units) = [Units::Millimetres, Units::Inches]
        .into_iter()
        .find_map(|units| Some((small.strip_suffix(units.short())?, Some(units))))
        .unwrap_or((&small, None));
    match figures.trim_end().parse::<f64>() {
        Ok(value) if value.abs() <= MOST => Ok(Length { value, units }),
        Ok(value) if !value.is_nan() => {
            Err("it must be a length between −1000000000 and 1000000000".into())
        }
        _ => Err(
            "it is no length; write it as in 1.27mm or 0.050in, or a plain number in the file's units"
                .into(),
        ),
    }
}

/// A text and what to call it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Source {
    /// A path, a scene's name, `standard input`.
    pub(super) name: String,
    /// What it holds.
    pub(super) text: String,
}

impl Source {
    /// Reads a file, standard input for `-`.
    pub(super) fn open(path: &str) -> Result<Self, Error> {
        let text = if path == "-" {
            source::text(io::stdin().lock())
        } else {
            source::file_text(Path::new(path))
        };
        let name = if path == "-" {
            "standard input".to_owned()
        } else {
            path.to_owned()
        };
        match text {
            Ok(text) => Ok(Self { name, text }),
            Err(Unreadable::Io(error)) => Err(unreadable(&name, &error)),
            Err(error) => Err(Error::line(format!("{name}: {error}"), error.fix())),
        }
    }

    /// The text with what was found in it.
    pub(super) fn with<'a>(&'a self, findings: &'a [Finding]) -> Report<'a> {
        Report {
            source: &self.name,
            text: &self.text,
            findings,
        }
    }

    /// Why it cannot be used: its findings, and how many `more` there were.
    pub(super) fn refused(&self, findings: &[Finding], more: usize, terminal: Terminal) -> Error {
        let shown = self.report(findings, more, terminal.err.colour);
        Error::in_text(&self.with(findings), more, shown)
    }

    /// The findings as they go to a terminal, and how many `more` there were.
    pub(super) fn report(&self, findings: &[Finding], more: usize, colour: bool) -> String {
        let mut text = self.with(findings).to_terminal(colour);
        if more > 0 {
            text += &counted(more, "more finding", "more findings");
            text += " like these.\n\n";
        }
        text
    }
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
    /// Whether it is asked about its second ignition.
    second_ignition: bool,
    /// How it was put together.
    pub(super) as_built: AsBuiltArgs,
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
            second_ignition: self.second_ignition,
            as_built: self.as_built.clone(),
        })
    }

    /// The engine worked out, as it was put together.
    pub(super) fn phasing(&self, terminal: Terminal) -> Result<Phasing, Error> {
        self.open()?.phasing(terminal)
    }
}

impl OpenedEngine {
    /// The engine by the ignition that is asked about; where it is none, the errors as they go to
    /// standard error.
    pub(super) fn engine(&self, terminal: Terminal) -> Result<Arc<Engine>, Error> {
        let errors: Vec<Finding> = self
            .read
            .findings
            .iter()
            .filter(|finding| finding.is_error())
            .cloned()
            .collect();
        let engine = self
            .read
            .engine
            .clone()
            .ok_or_else(|| self.source.refused(&errors, self.read.more, terminal))?;
        if !self.second_ignition {
            return Ok(engine);
        }
        engine.by_second_ignition().ok_or_else(|| {
            Error::line(
                format!("{}: the engine has one ignition", self.source.name),
                "leave out --second-ignition, or describe the other under `second_ignition`",
            )
        })
    }

    /// The engine worked out, as it was put together.
    pub(super) fn phasing(&self, terminal: Terminal) -> Result<Phasing, Error> {
        let engine = self.engine(terminal)?;
        let (assembly, findings) = self.as_built.assembly(&engine);
        if findings.is_empty() {
            return Ok(Phasing::as_built(&engine, &assembly));
        }
        Err(self
            .source
            .refused(&findings, 0, terminal)
            .beside_the_text())
    }
}
