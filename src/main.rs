//! The program: reads the command line, hands over to the library, writes the answer.

use std::io::{self, Write as _};
use std::process::ExitCode;

use clap::Parser as _;
use dotwise::command::{Answer, CommandLine, Terminal};
use dotwise::output::terminal::TerminalStyle;

fn main() -> ExitCode {
    let terminal = Terminal {
        out: TerminalStyle {
            colour: has_colour(&io::stdout()),
        },
        err: TerminalStyle {
            colour: has_colour(&io::stderr()),
        },
    };
    match CommandLine::parse().run(terminal) {
        Ok(answer) => write(&answer),
        Err(error) => {
            let _ = write!(io::stderr(), "{error}");
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
