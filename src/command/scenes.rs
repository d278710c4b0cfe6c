//! `dotwise scenes`: the built-in engines.

use serde::Serialize;

use super::{Answer, Refusal};
use crate::engine::scenes;
use crate::engine::scenes::SCENES;

/// What `scenes` is asked.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The one whose description is printed, to start a file from.
    #[arg(value_name = "NAME")]
    pub name: Option<String>,
    /// One JSON document instead of text.
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct SceneRecord {
    name: &'static str,
    teaches: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    description: Option<&'static str>,
}

impl Args {
    /// Lists them, or prints one.
    ///
    /// # Errors
    /// For a name that none has.
    pub fn run(&self) -> Result<Answer, Refusal> {
        let Some(name) = &self.name else {
            if self.json {
                return Answer::json(&SCENES.map(|scene| SceneRecord {
                    name: scene.name,
                    teaches: scene.teaches,
                    description: None,
                }));
            }
            let lines: Vec<String> = SCENES
                .iter()
                .map(|scene| format!("{:<15} {}\n", scene.name, scene.teaches))
                .collect();
            return Ok(Answer::text(lines.concat()));
        };
        let Some(scene) = scenes::find(name) else {
            let mend = scenes::closest(name)
                .map_or("`dotwise scenes` lists them".to_owned(), |meant| {
                    format!("`{meant}` was probably meant; `dotwise scenes` lists them all")
                });
            return Err(Refusal::line(
                format!("{name}: there is no such built-in engine"),
                mend,
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
