//! The program: reads the command line, hands over to the library, writes the answer.

use std::io::{self, Write as _};
use std::process::ExitCode;

use clap::Parser as _;
use dotwise::command::{Answer, CommandLine, Refusal, Terminal};
use dotwise::output::terminal::TerminalStyle;

fn main() -> ExitCode {
    let line = CommandLine::parse();
    let terminal = Terminal {
        out: TerminalStyle {
            colour: has_colour(&io::stdout()),
        },
        err: TerminalStyle {
            colour: has_colour(&io::stderr()),
        },
    };
    let answer = match &line.command {
        Some(command) => command.run(terminal),
        None => open_window(&line, terminal),
    };
    match answer {
        Ok(answer) => write(&answer),
        Err(Refusal(text)) => {
            let _ = io::stderr().write_all(text.as_bytes());
            ExitCode::from(2)
        }
    }
}

fn has_colour<S: anstream::stream::RawStream>(stream: &S) -> bool {
    anstream::AutoStream::choice(stream) != anstream::ColorChoice::Never
}

/// Writes a whole answer. A reader that went away cannot be told so on the same pipe: it is said on
/// the other.
fn write(answer: &Answer) -> ExitCode {
    let _ = io::stderr().write_all(answer.err.as_bytes());
    let mut out = io::stdout().lock();
    if let Err(error) = out.write_all(&answer.out).and_then(|()| out.flush()) {
        let _ = writeln!(
            io::stderr(),
            "dotwise: the answer could not be written: {error}"
        );
        return ExitCode::from(2);
    }
    ExitCode::from(u8::from(answer.not_right))
}

#[cfg(feature = "window")]
fn open_window(line: &CommandLine, terminal: Terminal) -> Result<Answer, Refusal> {
    let asked = line.window.engine();
    let phasing = asked.phasing(terminal)?;
    let opened = dotwise::window::Opened {
        engine: phasing.engine().clone(),
        assembly: phasing.assembly().clone(),
        named: line.window.engine.clone(),
    };
    match dotwise::window::open(&opened) {
        Ok(()) => Ok(Answer::default()),
        Err(error) => dotwise::command::without_window(&line.window, terminal, &error.to_string()),
    }
}

#[cfg(not(feature = "window"))]
fn open_window(line: &CommandLine, terminal: Terminal) -> Result<Answer, Refusal> {
    dotwise::command::without_window(
        &line.window,
        terminal,
        "this dotwise was built without its window",
    )
}
