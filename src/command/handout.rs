//! `dotwise handout`: the engine as one HTML file, for a phone at the club.

use std::net::SocketAddr;

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use super::output::OutputArg;
use super::serve;
use crate::output::{handout, text};
use crate::phasing::Phasing;
use crate::words::visible_lines;

/// An address longer than this would make a QR code that no phone reads off paper.
const MOST_ADDRESS: usize = 300;

#[derive(Debug, clap::Args)]
#[command(mut_arg("output", |output| output
    .required(false)
    .required_unless_present("serve")
    .default_value_if("serve", clap::builder::ArgPredicate::IsPresent, "-")))]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// The file.
    #[command(flatten)]
    output: OutputArg,
    /// Ask ten questions by a code, and hide the answers until they are given or asked for.
    #[arg(long)]
    quiz: bool,
    /// The teacher's page instead: the ten questions of this code, with their answers.
    #[arg(long, value_name = "CODE", conflicts_with = "quiz", value_parser = code)]
    key: Option<String>,
    /// Where the handout can be had, as a QR code on the teacher's page.
    #[arg(long, value_name = "URL", requires = "key", value_parser = address)]
    address: Option<String>,
    /// Show the page in browsers instead of writing it, until it is stopped: on this machine alone,
    /// or at an address of this machine, as in 0.0.0.0:8080 for the whole local network.
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, default_missing_value = "127.0.0.1:0",
          conflicts_with_all = ["key", "output", "json", "force"])]
    serve: Option<SocketAddr>,
}

/// A code: short, and told by its letters and figures.
fn code(text: &str) -> Result<String, String> {
    const MOST: usize = 24;
    let text = text.trim();
    if text.chars().count() > MOST {
        return Err(format!("it is longer than {MOST} letters"));
    }
    if text.chars().any(char::is_control)
        || !text.chars().any(|letter| letter.is_ascii_alphanumeric())
    {
        return Err(
            "it needs a letter A to Z or a figure; those alone tell one code from another".into(),
        );
    }
    Ok(text.to_owned())
}

fn address(text: &str) -> Result<String, String> {
    let begins = ["http://", "https://", "file://"];
    if !begins.iter().any(|begin| text.starts_with(begin)) {
        return Err(format!("it must begin with {}", begins.join(", ")));
    }
    if text.len() > MOST_ADDRESS
        || text
            .chars()
            .any(|letter| letter.is_whitespace() || letter.is_control())
    {
        return Err(format!(
            "it must be an address without blanks, {MOST_ADDRESS} letters at most"
        ));
    }
    Ok(text.to_owned())
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        if let Some(at) = self.serve {
            let phasing = self.engine.phasing(terminal)?;
            let page = page(&phasing, self.quiz)?;
            let warning = text::as_built(&phasing, terminal.err);
            let warning = visible_lines(&warning, terminal.err.colour);
            let answer = serve::page(at, phasing.engine().name(), &page, &warning)?;
            return Ok(answer.not_right(phasing.valve_clearance().meets()));
        }
        if !self.output.is_stream()
            && !matches!(self.output.ending().as_deref(), Some("html" | "htm"))
        {
            let what = format!("{}: a handout is HTML", self.output.output.display());
            return Err(Error::line(what, "end it in .html"));
        }
        let phasing = self.engine.phasing(terminal)?;
        let bytes = match &self.key {
            Some(code) => handout::key::document(&phasing, code, self.address.as_deref())
                .ok_or_else(|| {
                    Error::line(
                        "no questions can be asked of this engine",
                        "leave out --key",
                    )
                })?
                .into_bytes(),
            None => page(&phasing, self.quiz)?,
        };
        self.output
            .write_about(&phasing, handout::SUBJECTS, terminal, bytes, "1 page")
    }
}

fn page(phasing: &Phasing, quiz: bool) -> Result<Vec<u8>, Error> {
    let page = handout::document(phasing, quiz).map_err(|error| {
        Error::line(
            format!("the handout cannot be written: {error}"),
            "tell the makers of Dotwise",
        )
    })?;
    Ok(page.into_bytes())
}
