//! The command line: one file a command.
//!
//! Each command reads its input, asks the library and gives an [`Answer`]; nothing is written
//! before the answer is whole. `--json` on any command prints one JSON document and nothing else on
//! standard output. Exit status: 0 done; 1 done, and the answer means 'not right'; 2 the input
//! could not be used.

pub mod at;
pub mod check;
pub mod clearance;
pub mod degree;
pub mod diagnose;
pub mod dropin;
pub mod handout;
pub mod input;
pub mod lash;
pub mod order;
pub mod output;
#[cfg(feature = "window")]
pub mod picture;
pub mod scenes;
pub mod sheet;
#[cfg(feature = "window")]
pub mod speed;
pub mod table;
pub mod tdc;

use clap::{CommandFactory as _, Parser, Subcommand};

use crate::output::terminal::TerminalStyle;
use input::EngineArg;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "dotwise",
    version,
    about = "Learn, check and teach the timing of a four-stroke engine before the case is closed",
    long_about = "Learn, check and teach the timing of a four-stroke engine before the case is closed.\n\n\
        Alone, or with one ENGINE, it opens the window. ENGINE is a file, `-` for standard input, or the name of a built-in \
        engine (`dotwise scenes` lists them).",
    after_help = "The engine maker's manual and a qualified mechanic come before this program.\n\
        Before turning an engine by hand: ignition off, battery disconnected, fingers clear; never force a crank that stops.",
    args_conflicts_with_subcommands = true,
    disable_help_subcommand = true
)]
pub struct CommandLine {
    /// What to do; without it the window opens.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// What the window opens with.
    #[command(flatten)]
    pub window: WindowArgs,
}

/// What the window opens with.
#[derive(Debug, clap::Args)]
pub struct WindowArgs {
    /// A file, `-` for standard input, or the name of a built-in engine; the bench four where none
    /// is named.
    #[arg(value_name = "ENGINE")]
    pub engine: Option<String>,
    /// How it was put together.
    #[command(flatten)]
    pub as_built: input::AsBuiltArgs,
}

impl WindowArgs {
    /// The engine to open: the one named, or the bench engine.
    pub fn engine(&self) -> EngineArg {
        let engine = self
            .engine
            .clone()
            .unwrap_or_else(|| crate::engine::scenes::BENCH.name.to_owned());
        EngineArg {
            engine,
            as_built: self.as_built.clone(),
        }
    }
}

/// Every command that needs no window.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// What is wrong with a description, and what follows from it.
    Check(check::Args),
    /// Where everything stands at each crank angle.
    At(at::Args),
    /// Where everything stands over two turns of the crank.
    Table(table::Args),
    /// What was put together wrong, from what can be seen.
    Diagnose(diagnose::Args),
    /// How to drop the distributor in, and how to know firing TDC from overlap.
    Dropin(dropin::Args),
    /// The fewest crank positions at which every valve can be set.
    Lash(lash::Args),
    /// Least room between valves and pistons, and for each tooth of the cam out.
    Clearance(clearance::Args),
    /// True TDC from a positive stop; how wide the top looks.
    Tdc(tdc::Args),
    /// Lobe centres from a degree wheel, against the card.
    Degree(degree::Args),
    /// The firing order of an engine without papers, from where compression was felt.
    Order(order::Args),
    /// A picture of the engine as PNG, or an animated one.
    #[cfg(feature = "window")]
    Picture(picture::Args),
    /// How fast the window draws here.
    #[cfg(feature = "window")]
    Speed(speed::Args),
    /// The built-in engines; with a name, that one's description.
    Scenes(scenes::Args),
    /// On paper for the bench, as PDF, SVG or HTML by the file's ending: card, assembly sheet,
    /// marks, cap, valves, wheel, strip.
    Sheet(sheet::Args),
    /// The engine as one HTML file that turns on a phone.
    Handout(handout::Args),
}

impl Command {
    /// Does it.
    ///
    /// # Errors
    /// Where the input cannot be used: exit 2.
    pub fn run(&self, terminal: Terminal) -> Result<Answer, Refusal> {
        match self {
            Self::Check(args) => args.run(terminal),
            Self::At(args) => args.run(terminal),
            Self::Table(args) => args.run(terminal),
            Self::Diagnose(args) => args.run(terminal),
            Self::Dropin(args) => args.run(terminal),
            Self::Lash(args) => args.run(terminal),
            Self::Clearance(args) => args.run(terminal),
            Self::Tdc(args) => args.run(terminal),
            Self::Degree(args) => args.run(terminal),
            Self::Order(args) => args.run(terminal),
            #[cfg(feature = "window")]
            Self::Picture(args) => args.run(terminal),
            #[cfg(feature = "window")]
            Self::Speed(args) => args.run(terminal),
            Self::Scenes(args) => args.run(),
            Self::Sheet(args) => args.run(terminal),
            Self::Handout(args) => args.run(terminal),
        }
    }
}

/// What the two streams can show.
#[derive(Clone, Copy, Debug, Default)]
pub struct Terminal {
    /// Standard output.
    pub out: TerminalStyle,
    /// Standard error.
    pub err: TerminalStyle,
}

/// What a command has to say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answer {
    /// For standard output: the whole answer.
    pub out: Vec<u8>,
    /// For standard error, beside it.
    pub err: String,
    /// The answer means 'not right': exit 1.
    pub not_right: bool,
}

impl Answer {
    /// An answer that means all is well.
    pub fn text(out: impl Into<String>) -> Self {
        Self {
            out: out.into().into_bytes(),
            ..Self::default()
        }
    }

    /// One JSON document.
    ///
    /// # Errors
    /// Where a value has no JSON.
    pub fn json<T: serde::Serialize>(value: &T) -> Result<Self, Refusal> {
        crate::output::json::document(value)
            .map(Self::text)
            .map_err(|error| Refusal(format!("the answer cannot be written as JSON: {error}\n")))
    }

    /// The same, meaning 'not right' where `wrong`.
    #[must_use]
    pub fn not_right(self, wrong: bool) -> Self {
        Self {
            not_right: wrong,
            ..self
        }
    }
}

/// Why the input could not be used, as it goes to standard error.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal(pub String);

impl Refusal {
    /// One line: what is wrong, and what would mend it.
    pub fn line(what: impl AsRef<str>, mend: impl AsRef<str>) -> Self {
        Self(format!(
            "dotwise: {}\n  mend: {}\n",
            what.as_ref(),
            mend.as_ref()
        ))
    }
}

/// What is given where no window can be had: one line that says so, the reading at 0°, the commands
/// that need none.
///
/// # Errors
/// Where the engine cannot be used.
pub fn without_window(
    window: &WindowArgs,
    terminal: Terminal,
    why: &str,
) -> Result<Answer, Refusal> {
    let phasing = window.engine().phasing(terminal)?;
    let reading = phasing.at(crate::angle::CrankAngle::new(0.0));
    let commands = CommandLine::command();
    let names: Vec<&str> = commands
        .get_subcommands()
        .map(clap::Command::get_name)
        .collect();
    let out = format!(
        "{}\nWithout a window: dotwise {}. `dotwise --help` tells more.\n",
        crate::output::text::reading(&phasing, &reading, terminal.out),
        names.join(", ")
    );
    Ok(Answer {
        err: format!("dotwise: no window: {why}\n"),
        ..Answer::text(out)
    })
}
