//! The whole command line, and what runs each part of it.

use std::ffi::OsString;
use std::path::Path;

use clap::{CommandFactory as _, Parser, Subcommand};

use super::answer::{Answer, Error, Terminal};
use super::input::{AsBuiltArgs, EngineArg};
use super::{
    at, check, clearance, completions, degree, diagnose, dropin, examples, fields, handout, job,
    lash, man, order, prove, scenes, sheet,
};
#[cfg(feature = "window")]
use super::{picture, speed};
use super::{table, tdc};
use crate::angle::CrankAngle;
use crate::engine::scenes::BENCH;
use crate::output::terminal::TextWriter;
use crate::output::text;
use crate::phasing::{Phasing, READING};
use crate::procedures::job::Progress;
use crate::words::COLUMNS;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "dotwise",
    version,
    about = "Learn, check and teach the timing of a four-stroke engine before the case is closed",
    long_about = "Learn, check and teach the timing of a four-stroke engine before the case is closed.\n\n\
        Alone, or with one ENGINE, it opens the window. ENGINE is a file, `-` for standard input, or the name of a built-in \
        engine (`dotwise scenes` lists them).",
    after_help = examples::CAUTION,
    after_long_help = examples::text(),
    max_term_width = COLUMNS,
    args_conflicts_with_subcommands = true,
    disable_help_subcommand = true
)]
pub struct CommandLine {
    /// What to do; without it the window opens.
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    window: WindowArgs,
}

/// What the window opens with.
#[derive(Debug, clap::Args)]
struct WindowArgs {
    /// A file, `-` for standard input, or the name of a built-in engine; the bench four where none
    /// is named.
    #[arg(value_name = "ENGINE")]
    engine: Option<String>,
    #[command(flatten)]
    as_built: AsBuiltArgs,
}

/// Every command that needs no window.
#[derive(Debug, Subcommand)]
enum Command {
    /// What is wrong with a description, and what follows from it.
    Check(check::Args),
    /// Where everything stands at each crank angle.
    At(at::Args),
    /// Where everything stands over two turns of the crank.
    Table(table::Args),
    /// What was put together wrong, from what can be seen.
    Diagnose(diagnose::Args),
    /// The fewest looks after which nothing but as drawn is left.
    Prove(prove::Args),
    /// The whole job step by step: what is done, and what was measured.
    Job(job::Args),
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
    /// Every field of a description: unit, range, default, what it is, how it is found on an
    /// engine.
    Fields(fields::Args),
    /// On paper for the bench, as PDF, SVG or HTML by the file's ending: card, assembly sheet,
    /// measuring, marks, cap, valves, wheel, strip, closing record, under a page of contents.
    Sheet(sheet::Args),
    /// The engine as one HTML file that turns on a phone.
    Handout(handout::Args),
    /// Completion of these words in a shell.
    Completions(completions::Args),
    /// Pages of the manual, for whoever packs the program.
    #[command(hide = true)]
    Man(man::Args),
}

impl CommandLine {
    /// Reads the words that the program was given. A negative number may begin with its point.
    ///
    /// # Errors
    /// Where they are no command, and where help or the version is asked for.
    pub fn read(words: impl IntoIterator<Item = OsString>) -> Result<Self, clap::Error> {
        Self::try_parse_from(words.into_iter().map(|word| {
            let decimals = word.to_str().and_then(|word| word.strip_prefix("-."));
            match decimals
                .filter(|decimals| decimals.starts_with(|first: char| first.is_ascii_digit()))
            {
                Some(decimals) => format!("-0.{decimals}").into(),
                None => word,
            }
        }))
    }

    /// Runs the command; without one, opens the window and stays in it until it is closed. Where no
    /// window can be had, the answer says so and gives the reading at 0°.
    ///
    /// # Errors
    /// Where the input cannot be used: exit 2.
    pub fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let answer = match &self.command {
            Some(command) => command.run(terminal),
            None => self.window.open(terminal),
        };
        answer
            .map(|answer| answer.visible(terminal))
            .map_err(|error| error.visible(terminal))
    }
}

impl Command {
    fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        match self {
            Self::Check(args) => args.run(terminal),
            Self::At(args) => args.run(terminal),
            Self::Table(args) => args.run(terminal),
            Self::Diagnose(args) => args.run(terminal),
            Self::Prove(args) => args.run(terminal),
            Self::Job(args) => args.run(terminal),
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
            Self::Scenes(args) => args.run(terminal),
            Self::Fields(args) => args.run(terminal),
            Self::Sheet(args) => args.run(terminal),
            Self::Handout(args) => args.run(terminal),
            Self::Completions(args) => Ok(args.run(CommandLine::command())),
            Self::Man(args) => args.run(CommandLine::command()),
        }
    }
}

impl WindowArgs {
    fn open(&self, terminal: Terminal) -> Result<Answer, Error> {
        let engine = self.engine()?;
        let phasing = EngineArg {
            engine: engine.clone().unwrap_or_else(|| BENCH.name.to_owned()),
            second_ignition: false,
            as_built: self.as_built.clone(),
        }
        .phasing(terminal)?;
        match open_window(engine, &phasing) {
            Ok(()) => Ok(Answer::default()),
            Err(why) => Ok(without_window(&phasing, terminal, &why)),
        }
    }

    /// The engine that was named. A build file is opened with the engine that it stands beside.
    fn engine(&self) -> Result<Option<String>, Error> {
        let Some(name) = &self.engine else {
            return Ok(None);
        };
        match Progress::engine_beside(Path::new(name)) {
            Some(engine) if engine.is_file() => Ok(Some(engine.display().to_string())),
            Some(engine) => Err(Error::line(
                format!(
                    "{name}: a build file stands beside its engine's file, and {} is not there",
                    engine.display()
                ),
                "put the two into one folder, or open the engine's file",
            )),
            None => Ok(Some(name.clone())),
        }
    }
}

/// Opens the window on the engine, as it was put together, and stays in it until it is closed;
/// gives the reason where there can be none. `named` is what the engine was named by.
#[cfg(feature = "window")]
fn open_window(named: Option<String>, phasing: &Phasing) -> Result<(), String> {
    let opened = crate::window::Opened {
        engine: phasing.engine().clone(),
        assembly: phasing.assembly().clone(),
        named,
    };
    crate::window::open(&opened).map_err(|error| error.to_string())
}

#[cfg(not(feature = "window"))]
fn open_window(_: Option<String>, _: &Phasing) -> Result<(), String> {
    Err("this dotwise was built without its window".to_owned())
}

/// What is given where no window can be had: one line that says so, the reading at 0°, the commands
/// that need none.
fn without_window(phasing: &Phasing, terminal: Terminal, why: &str) -> Answer {
    let reading = phasing.at(CrankAngle::new(0.0));
    let line = CommandLine::command();
    let names: Vec<&str> = line
        .get_subcommands()
        .filter(|command| !command.is_hide_set())
        .map(clap::Command::get_name)
        .collect();
    let mut commands = TextWriter::new(terminal.out);
    commands.line("");
    commands.paragraph(format!(
        "Without a window: dotwise {}. `dotwise --help` tells more.",
        names.join(", ")
    ));
    let reading = text::reading(phasing, &reading, terminal.out);
    let mut answer = Answer::text_about(phasing, READING, terminal, reading);
    answer.out.extend(commands.finish().into_bytes());
    answer.err = format!("dotwise: no window: {why}\n");
    answer
}
