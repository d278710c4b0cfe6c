//! `dotwise scenes`: the built-in engines.

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use crate::engine::scenes::{self, SCENES};
use crate::output::terminal::TextWriter;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The one whose description is printed, to start a file from.
    #[arg(value_name = "NAME")]
    name: Option<String>,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct SceneRecord {
    name: &'static str,
    teaches: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    description: Option<&'static str>,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let Some(name) = &self.name else {
            if self.json {
                return Answer::json(&SCENES.map(|scene| SceneRecord {
                    name: scene.name,
                    teaches: scene.teaches,
                    description: None,
                }));
            }
            let mut out = TextWriter::new(terminal.out);
            for scene in &SCENES {
                let name = format!("{:<15} ", scene.name);
                out.hanging(scene.teaches, &name, &" ".repeat(16));
            }
            return Ok(Answer::text(out.finish()));
        };
        let Some(scene) = scenes::find(name) else {
            let fix = scenes::closest(name)
                .map_or("`dotwise scenes` lists them".to_owned(), |meant| {
                    format!("`{meant}` was probably meant; `dotwise scenes` lists them all")
                });
            return Err(Error::line(
                format!("{name}: there is no such built-in engine"),
                fix,
            ));
        };
        if self.json {
            return Answer::json(&SceneRecord {
                name: scene.name,
                teaches: scene.teaches,
                description: Some(scene.text),
            });
        }
        Ok(Answer::text(scene.text))
    }
}
