//! Text for a terminal: colour where it is shown, lines folded at 80 columns.

use anstyle::{AnsiColor, Style};

use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::phasing::Stroke;
use crate::words::{COLUMNS, folded, folded_line, visible, visible_lines};

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

/// A text for a person, while it is written line by line.
pub(crate) struct TextWriter {
    text: String,
    /// For lines that are styled in part.
    pub(crate) style: TerminalStyle,
}

impl TextWriter {
    pub(crate) fn new(style: TerminalStyle) -> Self {
        Self {
            text: String::new(),
            style,
        }
    }

    /// One line with its blanks, but for those at its end; folded only where it is longer than a
    /// terminal is wide. An end of line within it is shown as a mark.
    pub(crate) fn line(&mut self, line: impl AsRef<str>) {
        let line = self.marked(line.as_ref().trim_end());
        self.lines(&folded_line(&line));
    }

    /// Lines that were folded here.
    fn lines(&mut self, lines: &str) {
        self.text += lines.trim_end();
        self.text.push('\n');
    }

    /// A text on one line with whatever is unseen in it shown: before it is folded, for marks take
    /// columns.
    fn marked(&self, text: &str) -> String {
        visible_lines(text, self.style.colour).replace('\n', &visible("\n"))
    }

    pub(crate) fn paragraph(&mut self, text: impl AsRef<str>) {
        self.hanging(text, "", "");
    }

    /// A paragraph, folded, with `first` before its first line and `rest` before the others.
    pub(crate) fn hanging(&mut self, text: impl AsRef<str>, first: &str, rest: &str) {
        let text = self.marked(text.as_ref());
        self.lines(&folded(&text, first, rest, COLUMNS));
    }

    /// The same that must be read first.
    pub(crate) fn headline(&mut self, text: impl AsRef<str>) {
        self.strong_hanging(text, "", "");
    }

    /// A paragraph that must be read first, folded as by [`hanging`](Self::hanging).
    pub(crate) fn strong_hanging(&mut self, text: impl AsRef<str>, first: &str, rest: &str) {
        let text = folded(&self.marked(text.as_ref()), first, rest, COLUMNS);
        self.lines(&self.style.strong(&text));
    }

    pub(crate) fn faint(&mut self, text: impl AsRef<str>) {
        self.line(self.style.faint(text.as_ref()));
    }

    /// A blank line, and what needs care.
    pub(crate) fn caution(&mut self, text: impl AsRef<str>) {
        self.line("");
        self.warn(text, "");
    }

    /// What needs care, folded, with `indent` before each line.
    pub(crate) fn warn(&mut self, text: impl AsRef<str>, indent: &str) {
        let text = folded(&self.marked(text.as_ref()), indent, indent, COLUMNS);
        self.lines(&self.style.caution(&text));
    }

    /// A blank line, and the caution for whoever turns an engine by hand.
    pub(crate) fn turning_caution(&mut self) {
        self.caution(TURNING_CAUTION);
    }

    pub(crate) fn finish(self) -> String {
        self.text
    }
}
