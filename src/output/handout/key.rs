//! The teacher's page: the ten questions of a code with their answers, to be printed.

use std::fmt::Write as _;

use qrcode::{Color, EcLevel, QrCode};

use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::output::svg::escaped;
use crate::phasing::Phasing;
use crate::quiz::{Question, QuestionKind, Round};
use crate::words;

const STYLE: &str = "@page{margin:12mm}body{margin:0 auto;max-width:48rem;padding:0 1rem 1rem;background:#fff;color:#111;\
    font:1rem/1.4 system-ui,'DejaVu Sans',sans-serif;overflow-wrap:anywhere}h1{font-size:1.4rem;margin:.6rem 0 .2rem}p{margin:.25rem 0}\
    li{margin:.7rem 0;break-inside:avoid}li p{margin:.15rem 0}.right{font-weight:bold}.why{color:#444}.quiet{color:#444}\
    .caution{display:flow-root;border:2px solid #8f3500;border-radius:.4rem;padding:.4rem .7rem;margin:.6rem 0}\
    .address{float:right;width:42mm;margin:0 0 .5rem 1rem;text-align:center;font-size:.75rem}.address svg{display:block;width:42mm;height:42mm}\
    @media print{body{padding:0;font-size:9.5pt;max-width:none}}";

/// Cells of white around a code, as its standard (ISO/IEC 18004) asks for.
const QUIET_CELLS: usize = 4;

/// The whole page; `address` is where the handout itself can be had, shown as a QR code that opens
/// these questions. None where nothing can be asked of the engine, or where the address is too long
/// for a QR code.
pub fn document(phasing: &Phasing, code: &str, address: Option<&str>) -> Option<String> {
    let round = Round::by_code(phasing, code)?;
    let name = escaped(phasing.engine().name());
    let mut out = String::new();
    let _ = write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<link rel=\"icon\" href=\"data:,\">\n\
         <title>{name}: answers, code {code}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n",
        code = escaped(code),
    );
    if let Some(address) = address {
        let opens = opening(address, code);
        let _ = writeln!(
            out,
            "<div class=\"address\">{}<p>{}</p></div>",
            qr(&opens)?,
            escaped(&opens)
        );
    }
    let _ = writeln!(
        out,
        "<h1 dir=\"auto\">{name}: ten questions, code {}</h1>\n\
         <p class=\"quiet\">For the teacher. Whoever opens the handout made with --quiz and enters this code is asked the same. Fires {}.</p>\n\
         <p class=\"caution\"><strong>Caution.</strong> {TURNING_CAUTION}</p>\n<ol>",
        escaped(code),
        words::joined(phasing.engine().firing_order(), "\u{2011}"),
    );
    for question in &round.questions {
        item(&mut out, phasing, question);
    }
    out.push_str(
        "</ol>\n</main>\n<footer><p class=\"quiet\">Made with Dotwise. The engine maker's manual and a qualified mechanic come before this \
         page.</p></footer>\n</body>\n</html>\n",
    );
    Some(out)
}

fn item(out: &mut String, phasing: &Phasing, question: &Question) {
    let engine = phasing.engine();
    let stands = words::degrees(question.crank.degrees());
    let _ = writeln!(out, "<li><p>{}</p>", escaped(&question.text));
    let choices = question.choices.iter().enumerate().map(|(index, choice)| {
        let words = escaped(&choice.words(engine));
        if question.is_right(index) {
            format!("<span class=\"right\">✓ {words}</span>")
        } else {
            words
        }
    });
    let begins = if question.kind == QuestionKind::WhatIsWrong {
        "begins at"
    } else {
        "crank at"
    };
    let _ = writeln!(
        out,
        "<p>{} <span class=\"quiet\">({begins} {stands})</span></p>",
        choices.collect::<Vec<_>>().join(" · ")
    );
    for line in question.reason.lines() {
        let _ = writeln!(out, "<p class=\"why\">{}</p>", escaped(line));
    }
    out.push_str("</li>\n");
}

/// The address that opens the questions of a code: the handout's own, where it names no place yet.
fn opening(address: &str, code: &str) -> String {
    if address.contains('#') {
        return address.to_owned();
    }
    let mut opens = format!("{address}#quiz-");
    for byte in code.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.".contains(&byte) {
            opens.push(char::from(byte));
        } else {
            let _ = write!(opens, "%{byte:02X}");
        }
    }
    opens
}

/// A text as a QR code; None where it is too long for one.
fn qr(text: &str) -> Option<String> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let wide = code.width();
    let size = wide + 2 * QUIET_CELLS;
    let mut dark = String::new();
    for (index, _) in code
        .to_colors()
        .iter()
        .enumerate()
        .filter(|(_, cell)| **cell == Color::Dark)
    {
        let (across, down) = (index % wide + QUIET_CELLS, index / wide + QUIET_CELLS);
        let _ = write!(dark, "M{across} {down}h1v1h-1z");
    }
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\" role=\"img\" aria-label=\"QR code of the address below it\" \
         shape-rendering=\"crispEdges\"><rect width=\"{size}\" height=\"{size}\" fill=\"#fff\"/><path d=\"{dark}\"/></svg>"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_opens_the_questions_unless_it_names_a_place_itself() {
        assert_eq!(opening("http://a/", "Club 1"), "http://a/#quiz-Club%201");
        assert_eq!(opening("http://a/#137", "Club 1"), "http://a/#137");
    }

    #[test]
    fn a_code_has_its_three_corners_and_a_white_border_and_one_that_is_too_long_is_none() {
        let svg = qr("http://a/").expect("a code");
        assert!(
            svg.contains("M4 4h1v1h-1z") && !svg.contains("M3 "),
            "{svg}"
        );
        assert!(qr(&"x".repeat(5000)).is_none());
    }
}
