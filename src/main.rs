//! The program: reads the command line, hands over to the library, writes the answer.

use std::ffi::OsString;
use std::io::{self, Write as _};
use std::process::ExitCode;

use dotwise::command::{Answer, CommandLine, Terminal, asks_for_json, usage, usage_document};
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
    let words: Vec<OsString> = std::env::args_os().collect();
    let json = asks_for_json(&words);
    match CommandLine::read(words) {
        Ok(line) => match line.run(terminal) {
            Ok(answer) => write(&answer),
            Err(error) => refuse(&error.to_string(), json.then(|| error.document())),
        },
        Err(error) if error.use_stderr() => {
            let document = json.then(|| usage_document(&error));
            refuse(&usage(&error, terminal), document)
        }
        Err(help) => write_out(usage(&help, terminal).as_bytes()).unwrap_or(ExitCode::SUCCESS),
    }
}

/// Says on standard error why nothing was done, and on standard output as JSON where that was asked
/// for.
fn refuse(text: &str, document: Option<String>) -> ExitCode {
    let _ = io::stderr().write_all(text.as_bytes());
    if let Some(document) = document {
        let _ = write_out(document.as_bytes());
    }
    ExitCode::from(2)
}

fn has_colour<S: anstream::stream::RawStream>(stream: &S) -> bool {
    anstream::AutoStream::choice(stream) != anstream::ColorChoice::Never
}

/// Writes a whole answer.
fn write(answer: &Answer) -> ExitCode {
    let _ = io::stderr().write_all(answer.err.as_bytes());
    write_out(&answer.out).unwrap_or(ExitCode::from(u8::from(answer.not_right)))
}

/// Writes to standard output; gives the exit status where that decides it. A reader that has gone
/// away, as `head` does, has had what it wanted; any other failure is said on standard error.
fn write_out(bytes: &[u8]) -> Option<ExitCode> {
    let mut out = io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Ok(()) => None,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Some(ExitCode::SUCCESS),
        Err(error) => {
            let _ = writeln!(
                io::stderr(),
                "dotwise: the answer could not be written: {error}"
            );
            Some(ExitCode::from(2))
        }
    }
}
