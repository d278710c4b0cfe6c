//! A drawing as SVG: vector, in millimetres, every text a text.
//!
//! On paper everything is black, grey or white, so that any printer will do; on a page that is
//! shown, each role has a class and the page's style sheet has the colours, for light and for dark.

#![expect(
    clippy::indexing_slicing,
    reason = "`chunk_by` gives no run without an item"
)]

use std::borrow::Cow;
use std::fmt::Write as _;

use glam::DVec2;

use crate::drawing::{Anchor, Drawing, Item, Pen, Role, on_clock};
use crate::words::visible;

/// Where a drawing is shown, and so what its colours are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colours {
    /// Black, greys and white.
    Paper,
    /// Classes, for a style sheet (`STYLE`).
    Page,
}

/// Half the height of a capital, in font sizes: from the type itself.
pub(super) const HALF_CAPITAL: f64 = 0.3645;

/// A drawing as a file of its own.
pub fn document(drawing: &Drawing, colours: Colours) -> String {
    let element = element(drawing, colours);
    // The hatches go right after the title, where there is anything hatched.
    let (head, rest) = element.split_at(
        element
            .find("</title>")
            .map_or(0, |at| at + "</title>".len()),
    );
    let hatches = if rest.contains("url(#") {
        hatches(colours)
    } else {
        String::new()
    };
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{head}{hatches}{rest}\n")
}

/// The hatches that tell the strokes apart without colour: once in a file, before anything that is
/// drawn with them.
pub fn hatches(colours: Colours) -> String {
    let mut out = String::from("<defs>");
    for (role, lines) in [
        (Role::Power, "M0 0L2.2 2.2M0 2.2L2.2 0"),
        (
            Role::Exhaust,
            "M-.55 1.65L.55 2.75M0 0L2.2 2.2M1.65 -.55L2.75 .55",
        ),
        (
            Role::Intake,
            "M-.55 .55L.55 -.55M0 2.2L2.2 0M1.65 2.75L2.75 1.65",
        ),
        (Role::Compression, "M0 1.1H2.2"),
    ] {
        let name = class(role);
        let (back, line) = match colours {
            Colours::Paper => (
                format!("fill=\"{}\"", print_colours(role).1),
                "stroke=\"#6f6f6f\"".to_owned(),
            ),
            Colours::Page => (format!("class=\"{name} b\""), format!("class=\"{name} h\"")),
        };
        let _ = write!(
            out,
            "<pattern id=\"hatch-{name}\" width=\"2.2\" height=\"2.2\" patternUnits=\"userSpaceOnUse\">\
             <rect width=\"2.2\" height=\"2.2\" {back}/><path d=\"{lines}\" {line} stroke-width=\".13\" fill=\"none\"/></pattern>"
        );
    }
    out.push_str("</defs>");
    out
}

/// Whether a role's areas are hatched.
fn is_hatched(role: Role) -> bool {
    matches!(
        role,
        Role::Power | Role::Exhaust | Role::Intake | Role::Compression
    )
}

/// A drawing as an element of a page.
pub fn element(drawing: &Drawing, colours: Colours) -> String {
    element_with(drawing, colours, "")
}

/// The same with more, already written as SVG, laid over it.
pub(super) fn element_with(drawing: &Drawing, colours: Colours, more: &str) -> String {
    let mut out = String::with_capacity(256 + drawing.items.len() * 64);
    let (width, height) = (number(drawing.size.x), number(drawing.size.y));
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" "
    );
    match colours {
        Colours::Paper => {
            let _ = write!(out, "width=\"{width}mm\" height=\"{height}mm\" ");
        }
        Colours::Page => out.push_str("class=\"drawing\" "),
    }
    let title = escaped(&drawing.title);
    let _ = write!(
        out,
        "role=\"img\" aria-label=\"{title}\" font-family=\"'Dotwise Sans','DejaVu Sans',Verdana,sans-serif\">"
    );
    let _ = write!(out, "<title>{title}</title>");
    items(&mut out, &drawing.items, colours);
    out.push_str(more);
    out.push_str("</svg>");
    out
}

/// Drawn things, one after another, as elements. Lines of one pen, one after another, are one.
pub fn items(out: &mut String, items: &[Item], colours: Colours) {
    let line_pen = |item: &Item| match item {
        Item::Path {
            closed: false, pen, ..
        } => Some(*pen),
        _ => None,
    };
    let together =
        |one: &Item, next: &Item| line_pen(one).is_some_and(|pen| line_pen(next) == Some(pen));
    for alike in items.chunk_by(together) {
        match &alike[0] {
            Item::Path { pen, .. } => {
                let _ = write!(out, "<path{} d=\"", pen_attributes(*pen, colours));
                for item in alike {
                    if let Item::Path { points, closed, .. } = item {
                        path(out, points, *closed);
                    }
                }
                out.push_str("\"/>");
            }
            Item::Circle {
                centre,
                radius,
                pen,
            } => circle(out, *centre, *radius, *pen, colours),
            Item::Arc {
                centre,
                radius,
                sweep_deg,
                pen,
                ..
            } if sweep_deg.abs() >= 360.0 => circle(out, *centre, *radius, *pen, colours),
            Item::Arc {
                centre,
                radius,
                from_deg,
                sweep_deg,
                pen,
            } => {
                let from = on_clock(*centre, *radius, *from_deg);
                let to = on_clock(*centre, *radius, from_deg + sweep_deg);
                let (large, clockwise) = (
                    u8::from(sweep_deg.abs() > 180.0),
                    u8::from(*sweep_deg > 0.0),
                );
                let radius = number(*radius);
                let _ = write!(
                    out,
                    "<path{} d=\"M{} {}A{radius} {radius} 0 {large} {clockwise} {} {}\"/>",
                    pen_attributes(*pen, colours),
                    number(from.x),
                    number(from.y),
                    number(to.x),
                    number(to.y),
                );
            }
            Item::Text { .. } => text(out, &alike[0], colours),
        }
    }
}

fn text(out: &mut String, item: &Item, colours: Colours) {
    let Item::Text {
        at,
        text,
        size,
        anchor,
        turned_deg,
        role,
        bold,
    } = item
    else {
        return;
    };
    let anchor = match anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let bold = if *bold { " font-weight=\"bold\"" } else { "" };
    let down = HALF_CAPITAL * size;
    let place = if *turned_deg == 0.0 {
        format!("x=\"{}\" y=\"{}\"", number(at.x), number(at.y + down))
    } else {
        format!(
            "transform=\"translate({} {}) rotate({})\" y=\"{}\"",
            number(at.x),
            number(at.y),
            number(*turned_deg),
            number(down)
        )
    };
    let _ = write!(
        out,
        "<text {place} font-size=\"{}\"{anchor}{bold}{}>{}</text>",
        number(*size),
        text_attributes(*role, colours),
        in_reading_order(&escaped(text))
    );
}

/// A line of text with what follows words from the right kept on their right: a mark without width
/// ends the run of such words, so that a figure after a name does not change over with it. A number
/// that ends the name stays within it.
fn in_reading_order(text: &str) -> Cow<'_, str> {
    const LEFT_TO_RIGHT: char = '\u{200e}';
    if !text.chars().any(is_from_the_right) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    let mut rest = text;
    while let Some(start) = rest.find(is_from_the_right) {
        let is_other = |character: char| character.is_alphabetic() && !is_from_the_right(character);
        let run = &rest[start..];
        let run = &run[..run.find(is_other).unwrap_or(run.len())];
        let last = run
            .char_indices()
            .rfind(|(_, character)| is_from_the_right(*character));
        let end = last.map_or(0, |(at, character)| at + character.len_utf8());
        let end = start + end + number_of_a_name(&rest[start + end..]);
        out.push_str(&rest[..end]);
        rest = &rest[end..];
        if !rest.is_empty() {
            out.push(LEFT_TO_RIGHT);
        }
    }
    out.push_str(rest);
    Cow::Owned(out)
}

/// How long a number is with the blanks before it, where it ends what is written or a part of it; a
/// number with a unit is none.
fn number_of_a_name(after: &str) -> usize {
    let blanks = after.len() - after.trim_start_matches(' ').len();
    let digits = after[blanks..].trim_start_matches(|one: char| one.is_ascii_digit());
    let end = after.len() - digits.len();
    let ends_it = digits.is_empty() || digits.starts_with([',', ';', ':', '.', ')']);
    if blanks > 0 && end > blanks && ends_it {
        end
    } else {
        0
    }
}

/// Whether a letter is of a script that is written from the right.
fn is_from_the_right(character: char) -> bool {
    matches!(character,
        '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefc}'
        | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
        && character.is_alphabetic()
}

fn circle(out: &mut String, centre: DVec2, radius: f64, pen: Pen, colours: Colours) {
    let pen = pen_attributes(pen, colours);
    let _ = write!(
        out,
        "<circle{pen} cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
        number(centre.x),
        number(centre.y),
        number(radius)
    );
}

fn path(out: &mut String, points: &[DVec2], closed: bool) {
    for (index, point) in points.iter().enumerate() {
        let _ = write!(
            out,
            "{}{} {}",
            if index == 0 { 'M' } else { 'L' },
            number(point.x),
            number(point.y)
        );
    }
    if closed {
        out.push('Z');
    }
}

/// A micrometre is finer than any printer.
fn number(value: f64) -> String {
    let mut text = format!("{value:.3}");
    while text.ends_with('0') {
        text.pop();
    }
    if text.ends_with('.') {
        text.pop();
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// A text as it may stand in XML and HTML, between tags or in quotes. What would not
/// be seen is [`visible`]; blanks of any kind are blanks.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let text = text.replace(['\t', '\n', '\r'], " ");
    for character in visible(&text).chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            plain => out.push(plain),
        }
    }
    out
}

/// A role's colour on paper, for its lines and texts, and the tint of its areas.
fn print_colours(role: Role) -> (&'static str, &'static str) {
    match role {
        Role::Main | Role::Mark | Role::Spark | Role::Now | Role::Caution => ("#000", "#000"),
        Role::Faint => ("#6b6b6b", "#6b6b6b"),
        Role::Paper => ("#fff", "#fff"),
        Role::Metal => ("#3a3a3a", "#e8e8e8"),
        Role::Ghost => ("#8a8a8a", "#8a8a8a"),
        Role::Intake => ("#000", "#fff"),
        Role::Exhaust => ("#000", "#ececec"),
        Role::Rotor => ("#000", "#4a4a4a"),
        Role::Power => ("#000", "#e4e4e4"),
        Role::Compression => ("#000", "#f6f6f6"),
    }
}

fn class(role: Role) -> &'static str {
    match role {
        Role::Main => "main",
        Role::Faint => "faint",
        Role::Paper => "paper",
        Role::Metal => "metal",
        Role::Ghost => "ghost",
        Role::Mark => "mark",
        Role::Intake => "intake",
        Role::Exhaust => "exhaust",
        Role::Spark => "spark",
        Role::Rotor => "rotor",
        Role::Now => "now",
        Role::Power => "power",
        Role::Compression => "compression",
        Role::Caution => "caution",
    }
}

fn pen_attributes(pen: Pen, colours: Colours) -> String {
    let mut attributes = String::new();
    match colours {
        Colours::Paper => {
            let (line, tint) = print_colours(pen.role);
            let _ = match (pen.filled, is_hatched(pen.role)) {
                (false, _) => write!(attributes, " fill=\"none\""),
                (true, false) => write!(attributes, " fill=\"{tint}\""),
                (true, true) => write!(attributes, " fill=\"url(#hatch-{})\"", class(pen.role)),
            };
            if pen.width > 0.0 {
                let _ = write!(attributes, " stroke=\"{line}\"");
            }
        }
        Colours::Page => {
            let _ = write!(
                attributes,
                " class=\"{}{}{}\"",
                class(pen.role),
                if pen.width > 0.0 { " l" } else { "" },
                if pen.filled { " f" } else { "" }
            );
        }
    }
    if pen.width > 0.0 {
        let _ = write!(
            attributes,
            " stroke-width=\"{}\" stroke-linejoin=\"round\"",
            number(pen.width)
        );
    }
    if pen.dashed {
        let (dash, gap) = ((pen.width * 2.5).max(1.2), (pen.width * 1.2).max(0.8));
        let _ = write!(
            attributes,
            " stroke-dasharray=\"{} {}\"",
            number(dash),
            number(gap)
        );
    }
    attributes
}

fn text_attributes(role: Role, colours: Colours) -> String {
    match colours {
        Colours::Paper => format!(" fill=\"{}\"", print_colours(role).0),
        Colours::Page => format!(" class=\"{} t\"", class(role)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_names_come_out_as_text_and_never_as_markup() {
        let mut drawing = Drawing::new("A <b> & \"c\" 'd'", 10.0, 10.0);
        drawing.text(
            DVec2::ONE,
            "</text><script>&\u{0}\u{5d0}\u{5d1}",
            3.0,
            Anchor::Start,
            Role::Main,
        );
        let svg = document(&drawing, Colours::Paper);
        assert!(
            svg.contains("&lt;/text&gt;&lt;script&gt;&amp;&lt;U+0000&gt;\u{5d0}\u{5d1}</text>"),
            "{svg}"
        );
        assert!(
            svg.contains("<title>A &lt;b&gt; &amp; &quot;c&quot; &#39;d&#39;</title>"),
            "{svg}"
        );
        usvg::Tree::from_str(&svg, &usvg::Options::default()).expect("well-formed");
    }

    #[test]
    fn a_figure_after_a_name_from_the_right_stays_after_it() {
        for (text, kept) in [
            ("Bench 4, 180 mm", "Bench 4, 180 mm"),
            ("\u{5d0}\u{5d1}, 180 mm", "\u{5d0}\u{5d1}\u{200e}, 180 mm"),
            (
                "\u{5d0}\u{5d1} 4, 180 mm",
                "\u{5d0}\u{5d1} 4\u{200e}, 180 mm",
            ),
            ("\u{5d0}\u{5d1} 180 mm", "\u{5d0}\u{5d1}\u{200e} 180 mm"),
            ("\u{5d0} 4 \u{5d1}", "\u{5d0} 4 \u{5d1}"),
            ("\u{645}\u{62d} at 7", "\u{645}\u{62d}\u{200e} at 7"),
        ] {
            assert_eq!(in_reading_order(text), kept);
        }
    }

    #[test]
    fn an_arc_of_a_quarter_ends_a_quarter_on() {
        let mut drawing = Drawing::new("", 100.0, 100.0);
        drawing.arc(
            DVec2::splat(50.0),
            40.0,
            0.0,
            90.0,
            Pen::line(Role::Main, 1.0),
        );
        drawing.arc(
            DVec2::splat(50.0),
            40.0,
            0.0,
            -270.0,
            Pen::line(Role::Main, 1.0),
        );
        let svg = document(&drawing, Colours::Paper);
        assert!(svg.contains("M50 10A40 40 0 0 1 90 50"), "{svg}");
        assert!(svg.contains("M50 10A40 40 0 1 0 90 50"), "{svg}");
    }
}
