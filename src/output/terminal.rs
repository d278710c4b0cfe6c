//! Colour in a terminal that has it.

use anstyle::{AnsiColor, Style};

use crate::phasing::Stroke;

/// Whether a text for a person may carry colour. `NO_COLOR` and pipes are settled before it comes
/// here.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TerminalStyle {
    /// Whether the terminal shows ANSI colours.
    pub colour: bool,
}

impl TerminalStyle {
    /// For what must be read first.
    pub fn strong(self, text: &str) -> String {
        self.styled(Style::new().bold(), text)
    }

    /// For captions.
    pub fn faint(self, text: &str) -> String {
        self.styled(Style::new().dimmed(), text)
    }

    /// For what needs care.
    pub fn caution(self, text: &str) -> String {
        self.styled(AnsiColor::Yellow.on_default(), text)
    }

    /// A text that speaks of a stroke.
    pub fn stroke(self, stroke: Stroke, text: &str) -> String {
        let colour = match stroke {
            Stroke::Power => AnsiColor::Red,
            Stroke::Exhaust => AnsiColor::Magenta,
            Stroke::Intake => AnsiColor::Cyan,
            Stroke::Compression => AnsiColor::Yellow,
        };
        self.styled(colour.on_default(), text)
    }

    fn styled(self, style: Style, text: &str) -> String {
        if self.colour {
            format!("{style}{text}{style:#}")
        } else {
            text.to_owned()
        }
    }
}
