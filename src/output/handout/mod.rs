//! The handout: one HTML file for a phone, turned by a slider, by dragging and by arrow keys.
//!
//! It asks nothing of any network and is told so by its own security policy. Every number is worked
//! out here and travels in the page; the page's script looks up and places. With scripts off it
//! shows the engine at No. 1's firing TDC and a table over two turns. With `quiz` it asks ten
//! questions by a code, and its answers stay hidden until they are given or asked for; with scripts
//! off it has none. [`key`] has the answers on paper.

mod bodies;
pub mod key;
mod questions;

use std::fmt::Write as _;

use serde::Serialize;

use super::as_built;
use super::svg::{self, Colours, escaped};
use super::text;
use crate::angle::{Clock, CrankAngle, CrankTurn};
use crate::description::Valve;
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::drawing::strokes;
use crate::engine::Subject;
use crate::phasing::{CylinderReading, Phasing, Reading};
use crate::procedures::valve_setting::ValveSetting;
use crate::words::{self, Units};
use bodies::{Bodies, Body, Figure, ROWS, Table};
use questions::Questions;

/// From row to row of the table that needs no script.
const TABLE_STEP_DEG: u32 = 30;

/// What the page speaks of.
pub const SUBJECTS: &[Subject] = &[
    Subject::Pistons,
    Subject::Valves,
    Subject::Setting,
    Subject::Clearance,
    Subject::Marks,
    Subject::Rotor,
    Subject::Sparks,
];

/// One cylinder at every crank degree.
#[derive(Serialize)]
struct Cylinder {
    number: u8,
    /// A letter a degree.
    strokes: String,
    /// A digit a degree: 1 for the intake valve, 2 for the exhaust, together 3.
    open: String,
    /// Which table has how far its piston is down.
    drop: usize,
    intake: usize,
    exhaust: usize,
}

/// What comes next at every crank degree.
#[derive(Serialize)]
struct Next {
    cylinder: Vec<u8>,
    after: Table,
}

#[derive(Serialize)]
struct Rotor {
    clock: Table,
    past: Table,
    /// The place among the leads of the tower it is nearest to.
    tower: Vec<usize>,
}

#[derive(Serialize)]
struct Data<'a> {
    rows: u32,
    unit: &'static str,
    /// Where each cylinder fires, and how far on from there its piston is at the bottom.
    fires: Vec<f64>,
    down: f64,
    leads: &'a [u8],
    #[serde(skip_serializing_if = "Option::is_none")]
    quiz: Option<Questions>,
    cylinders: Vec<Cylinder>,
    firing: Next,
    spark: Next,
    /// What is said after the next spark, at every crank degree: of one that is wasted, or of one
    /// with a wasted one beside it; empty where plugs spark every other turn.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    wasted: Vec<String>,
    rotor: Option<Rotor>,
    marks: Vec<Table>,
    /// Which valves are in their pistons, in words: each sentence once, the first empty.
    blocks: Vec<String>,
    /// Which of them, at every crank degree; empty where valves and pistons keep clear all round.
    blocked: Vec<usize>,
    tables: &'a [Table],
    bodies: &'a [Body],
    letters: &'a [(String, u8)],
}

/// The whole page.
///
/// # Errors
/// Where a number has no JSON; none of ours has such.
pub fn document(phasing: &Phasing, quiz: bool) -> Result<String, serde_json::Error> {
    let readings: Vec<Reading> = (0..ROWS)
        .map(|degree| phasing.at(CrankAngle::new(f64::from(degree))))
        .collect();
    let mut bodies = Bodies {
        // Where a part would stand as drawn is the answer to what is wrong.
        without_ghosts: quiz,
        ..Bodies::default()
    };
    // Pistons and cap first: on a phone they are seen together.
    let figures = [
        Some(bodies.along(phasing, &readings)),
        bodies.cap(phasing, &readings),
        Some(bodies.front(phasing, &readings)),
        Some(bodies.gears(phasing, &readings)),
        bodies.wheels(phasing, &readings),
        bodies.ribbon(phasing, &readings),
    ];
    let cylinders = cylinders(phasing, &readings, &mut bodies);
    // Within a script element only this could end it early.
    let json = super::json::compact(&data(phasing, &readings, cylinders, &bodies, quiz))?
        .replace('<', "\\u003c");
    let mut out = String::with_capacity(json.len() + 200_000);
    head(&mut out, phasing, quiz);
    without_scripts(&mut out, quiz);
    controls(&mut out, phasing);
    if quiz {
        round(&mut out);
    }
    out.push_str(PRINTED);
    out.push_str("<div class=\"figures\">\n");
    for figure in figures.into_iter().flatten() {
        figure_element(&mut out, &figure);
    }
    out.push_str("</div>\n");
    if let Some(start) = readings.first() {
        reading_table(&mut out, phasing, start);
    }
    if !quiz {
        whole_table(&mut out, phasing);
    }
    valve_setting(&mut out, phasing);
    glossary(&mut out, phasing);
    rests_on(&mut out, phasing);
    let _ = write!(
        out,
        "</main>\n<footer><p class=\"quiet\">Made with Dotwise. The engine maker's manual and a qualified mechanic come before this \
         page.</p></footer>\n<script type=\"application/json\" id=\"data\">{json}</script>\n<script>{}</script>\n</body>\n</html>\n",
        include_str!("page.js")
    );
    Ok(out)
}

fn head(out: &mut String, phasing: &Phasing, quiz: bool) {
    let name = escaped(phasing.engine().name());
    let _ = write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; script-src \
         'unsafe-inline'; img-src data:\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <link rel=\"icon\" href=\"data:,\">\n<title>{name}</title>\n<style>{}</style>\n</head>\n<body{}>\n\
         <svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\">{}</svg>\n<header>\n<h1 dir=\"auto\">{name}</h1>\n",
        include_str!("page.css"),
        if quiz { " class=\"quiz hide\"" } else { "" },
        svg::hatches(Colours::Page)
    );
    let rotation = phasing.crank_direction().word();
    let _ = writeln!(
        out,
        "<p>Fires {}. The crank turns {rotation}, seen from the front.</p>",
        words::joined(phasing.engine().firing_order(), "\u{2011}")
    );
    if let Some(built) = as_built::built(phasing) {
        let _ = writeln!(
            out,
            "<p><strong>{}</strong></p>",
            if quiz {
                "Something in it may be other than as drawn.".to_owned()
            } else {
                escaped(&built)
            }
        );
    }
    if let Some(clearance) = as_built::clearance(phasing) {
        let clearance = escaped(&clearance);
        let _ = if phasing.valve_clearance().is_enough() {
            writeln!(out, "<p id=\"clearance\">{clearance}</p>")
        } else {
            writeln!(
                out,
                "<p id=\"clearance\" class=\"caution\"><strong>{clearance}</strong></p>"
            )
        };
    }
    if let Some(first) = as_built::instead_of_steps(phasing) {
        let _ = writeln!(
            out,
            "<p><strong>{}</strong> The controls turn the drawing, and say where the crank cannot come.</p>",
            escaped(&first)
        );
    }
    let _ = writeln!(
        out,
        "<p class=\"caution\"><strong>Caution.</strong> {TURNING_CAUTION}</p>\n</header>\n<main>"
    );
}

/// What each valve is set to.
fn valve_setting(out: &mut String, phasing: &Phasing) {
    let engine = phasing.engine();
    let setting = ValveSetting::of(engine);
    let _ = writeln!(
        out,
        "<section id=\"valve-setting\"><h2>Setting the valves</h2>\n<p>{}</p>\n<p class=\"caution\"><strong>Caution.</strong> {}</p></section>",
        escaped(&setting.asked(engine)),
        escaped(setting.caution())
    );
}

/// The words of the page for whoever has never timed an engine.
fn glossary(out: &mut String, phasing: &Phasing) {
    const CRANK: [(&str, &str); 5] = [
        (
            "TDC",
            "Top dead centre: a piston at its highest. In two turns of the crank each is there twice.",
        ),
        (
            "Firing TDC",
            "The one at the end of compression: both valves are shut, and the plug fires at about this place.",
        ),
        (
            "Overlap TDC",
            "The other, one turn on: exhaust ends, intake begins, and both valves may be a little open.",
        ),
        (
            "Strokes",
            "Intake, compression, power, exhaust: piston down, up, down, up. The four take two turns of the crank and one of the camshaft.",
        ),
        (
            "As drawn",
            "Put together rightly, as the engine's description has it. Ahead or advanced: a wheel put in further on in the way it turns; behind or retarded: further back.",
        ),
    ];
    const CAP: (&str, &str) = (
        "Cap, rotor, lead",
        "The rotor turns under the distributor's cap, half as fast as the crank. The spark goes to the tower it points at, and by the lead plugged there to one cylinder's plug.",
    );
    out.push_str("<details id=\"words\"><summary>Words used here</summary>\n<dl>\n");
    let cap = phasing.engine().metric().distributor.is_some();
    for (word, means) in CRANK.into_iter().chain(cap.then_some(CAP)) {
        let _ = writeln!(out, "<dt>{word}</dt><dd>{means}</dd>");
    }
    out.push_str("</dl></details>\n");
}

/// What the page takes for granted.
fn rests_on(out: &mut String, phasing: &Phasing) {
    let sentences = phasing.engine().rests_on(SUBJECTS);
    if sentences.is_empty() {
        return;
    }
    out.push_str("<section id=\"rests-on\"><h2>This rests on</h2>\n<ul>\n");
    for sentence in sentences {
        let _ = writeln!(out, "<li>{}</li>", escaped(&sentence));
    }
    out.push_str("</ul></section>\n");
}

/// Which valves would be in their pistons here, in words; None where none is.
fn blocked(phasing: &Phasing, reading: &Reading) -> Option<String> {
    let in_it = |cylinder: &CylinderReading, valve: Valve| {
        phasing
            .gap_mm(cylinder, valve)
            .is_some_and(|gap_mm| gap_mm <= 0.0)
    };
    let valves: Vec<String> = reading
        .cylinders
        .iter()
        .flat_map(|cylinder| Valve::BOTH.map(|valve| (cylinder, valve)))
        .filter(|(cylinder, valve)| in_it(cylinder, *valve))
        .map(|(cylinder, valve)| format!("No. {}'s {}", cylinder.number, valve.word()))
        .collect();
    (!valves.is_empty()).then(|| {
        format!(
            "VALVE IN THE PISTON: {}. The crank cannot come here.",
            valves.join(", ")
        )
    })
}

/// A triangle while it stands, two bars while it turns: no type has to have a sign for them.
const PLAY: &str = "<svg viewBox=\"0 0 24 24\" width=\"22\" height=\"22\" aria-hidden=\"true\"><path class=\"stands\" d=\"M7 4L20 12L7 20Z\"/>\
    <path class=\"turns\" d=\"M6 4H10V20H6ZM14 4H18V20H14Z\"/></svg>";

/// What is printed of where the engine stands.
const PRINTED: &str =
    "<p class=\"printed\">Crank <span id=\"at\">0°</span> past No. 1's firing TDC.</p>\n";

/// What the page is to someone whose browser runs no scripts.
fn without_scripts(out: &mut String, quiz: bool) {
    let _ = writeln!(
        out,
        "<noscript><p class=\"caution\">{}</p></noscript>",
        if quiz {
            "This page turns the engine and asks ten questions about it. Both need scripts, which are off here: it shows the engine at No. 1's \
             firing TDC, and no answers."
        } else {
            "This page turns the engine. That needs scripts, which are off here: it shows the engine at No. 1's firing TDC, and a table over \
             two turns."
        }
    );
}

fn controls(out: &mut String, phasing: &Phasing) {
    // It keeps its place while it says nothing: the page does not jump as the crank is turned.
    let blocked = if phasing.valve_clearance().meets() {
        "<p id=\"blocked\"></p>"
    } else {
        ""
    };
    let arrow = if phasing.crank_direction().sign() > 0.0 {
        '↻'
    } else {
        '↺'
    };
    let _ = writeln!(
        out,
        "<div class=\"turn script\"><div class=\"slide\"><label for=\"crank\"><span><span aria-hidden=\"true\">{arrow}</span> Crank past No. 1's \
         firing TDC</span> <output id=\"degrees\" for=\"crank\">0°</output></label>\n\
         <input type=\"range\" id=\"crank\" min=\"0\" max=\"719\" step=\"1\" value=\"0\"></div>\n\
         <div class=\"row\"><button type=\"button\" data-by=\"-10\" aria-label=\"10 degrees back\">−10</button>\
         <button type=\"button\" data-by=\"-1\" aria-label=\"1 degree back\">−1</button>\
         <button type=\"button\" data-by=\"1\" aria-label=\"1 degree on\">+1</button>\
         <button type=\"button\" data-by=\"10\" aria-label=\"10 degrees on\">+10</button>\
         <button type=\"button\" id=\"play\" aria-label=\"turn it by itself\" aria-pressed=\"false\">{PLAY}</button>\
         <button type=\"button\" id=\"next\" aria-label=\"Next TDC that fires\">Next TDC</button></div>\n<p id=\"way\"><span aria-hidden=\"true\">{arrow}</span> + turns the crank the way it runs.</p>{blocked}</div>\n\
         <p id=\"says\" class=\"answer script\"></p>\n<p id=\"live\" class=\"hear\" role=\"status\" aria-live=\"polite\"></p>\n\
         <p class=\"quiet script\" id=\"how\">Turn it with the slider or by dragging a drawing sideways<span class=\"keys\">, or with the arrow \
         keys: 1°, with Shift 10°</span>. <a href=\"#words\">Words used here</a></p>"
    );
}

/// Where the questions of a code are asked.
fn round(out: &mut String) {
    out.push_str(
        "<section id=\"round\" class=\"script\" aria-label=\"Questions\">\n\
         <form id=\"begin\"><h2>Ten questions</h2>\n\
         <p>Whoever has this page and the same code is asked the same. Without a code you get one by chance.</p>\n\
         <div class=\"row\"><label for=\"code\">Code</label><input id=\"code\" maxlength=\"24\" size=\"8\" autocomplete=\"off\" \
         autocapitalize=\"characters\" spellcheck=\"false\"><button>Begin</button>\
         <button type=\"button\" id=\"ask\" aria-pressed=\"false\">Show the answers</button></div></form>\n\
         <div id=\"open\" hidden><p id=\"count\" class=\"quiet\"></p>\n<h2 id=\"asked\" tabindex=\"-1\">Question</h2>\n<p id=\"leads\"></p>\n\
         <div id=\"choices\" role=\"group\" aria-labelledby=\"asked\"></div>\n<div id=\"told\" role=\"status\"></div>\n\
         <div class=\"row\"><button type=\"button\" id=\"on\">Next question</button>\
         <button type=\"button\" id=\"flip\" aria-pressed=\"false\">Put it right</button>\
         <button type=\"button\" id=\"back\">Back to where it is asked</button>\
         <button type=\"button\" id=\"stop\">Stop</button></div></div>\n\
         <div id=\"end\" hidden><h2 id=\"score\" tabindex=\"-1\">Score</h2>\n<p id=\"planted\"></p>\n<ol id=\"asked-all\"></ol>\n\
         <div class=\"row\"><button type=\"button\" id=\"again\">Other questions</button></div></div></section>\n",
    );
}

fn figure_element(out: &mut String, figure: &Figure) {
    let class = match (figure.id, figure.answer) {
        (_, true) => " class=\"wide answer\"",
        ("along", _) => " class=\"wide\"",
        _ => "",
    };
    let _ = writeln!(
        out,
        "<figure id=\"{}\"{class} data-drag=\"{:.3}\">{}<figcaption>{}<span class=\"answer\">{}</span></figcaption></figure>",
        figure.id,
        figure.drag_deg,
        figure.svg,
        escaped(&figure.caption),
        figure.caption_of_answers
    );
}

/// The reading, as the page keeps it; without scripts it stays at No. 1's firing TDC.
fn reading_table(out: &mut String, phasing: &Phasing, reading: &Reading) {
    let units = phasing.engine().written().units;
    let _ = writeln!(
        out,
        "<section class=\"answer readout\" aria-labelledby=\"reading\"><h2 id=\"reading\">The reading</h2>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"each cylinder\"><table>\
         <caption>Each cylinder: its stroke, how far its piston is down, its valves</caption><thead><tr><th scope=\"col\">No.</th>\
         <th scope=\"col\">stroke</th><th scope=\"col\">down</th><th scope=\"col\">intake</th><th scope=\"col\">exhaust</th></tr></thead><tbody>"
    );
    for cylinder in &reading.cylinders {
        let number = cylinder.number;
        let _ = writeln!(
            out,
            "<tr><th scope=\"row\">{number}</th><td id=\"stroke{number}\">{}</td><td id=\"drop{number}\">{}</td>\
             <td id=\"intake{number}\">{}</td><td id=\"exhaust{number}\">{}</td></tr>",
            cylinder.stroke.word(),
            words::length(cylinder.piston_drop_mm, units),
            text::valve(cylinder.intake, units),
            text::valve(cylinder.exhaust, units)
        );
    }
    out.push_str("</tbody></table></div>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"sparks, rotor and marks\"><table><tbody>\n");
    let mut row = |name: &str, id: &str, value: &str| {
        let _ = writeln!(
            out,
            "<tr><th scope=\"row\" dir=\"auto\">{name}</th><td id=\"{id}\">{value}</td></tr>"
        );
    };
    let next = |coming: crate::phasing::NextEvent| {
        format!(
            "No. {}, in {}",
            coming.cylinder,
            words::degrees(coming.after.degrees())
        )
    };
    row("next firing TDC", "firing", &next(reading.next_firing_tdc));
    row("next spark", "spark", &text::next_spark(phasing, reading));
    if let Some(rotor) = reading.rotor {
        let clock = words::degrees(rotor.clock.degrees());
        let past = words::past(rotor.past_deg, 2);
        row(
            "rotor, on the cap's clock",
            "rotor",
            &format!("at {clock}, {past} the tower of No. {}", rotor.tower),
        );
    }
    for (index, (mark, clock)) in phasing
        .engine()
        .written()
        .marks
        .iter()
        .zip(&reading.marks)
        .enumerate()
    {
        let name = mark.pointer_at().map_or(mark.name.clone(), |pointer| {
            format!(
                "{}, read at {}",
                mark.name,
                words::degrees(Clock::new(pointer).degrees())
            )
        });
        row(
            &escaped(&name),
            &format!("mark{index}"),
            &words::degrees(clock.degrees()),
        );
    }
    out.push_str("</tbody></table></div></section>\n");
}

/// The table over two turns that needs no script.
fn whole_table(out: &mut String, phasing: &Phasing) {
    let _ = writeln!(
        out,
        "<details open id=\"table\"><summary>Two turns, every {TABLE_STEP_DEG}°</summary>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"two turns\"><table><caption>P power, \
         E exhaust, I intake, C compression; i, e: that valve open</caption><thead><tr><th scope=\"col\">crank</th>"
    );
    for cylinder in phasing.cylinders() {
        let _ = write!(out, "<th scope=\"col\">No. {}</th>", cylinder.number);
    }
    let meets = phasing.valve_clearance().meets();
    let rotor = phasing.engine().metric().distributor.is_some();
    let _ = writeln!(
        out,
        "{}{}</tr></thead><tbody>",
        if rotor {
            "<th scope=\"col\">rotor</th><th scope=\"col\">tower</th>"
        } else {
            ""
        },
        if meets {
            "<th scope=\"col\">valves and pistons</th>"
        } else {
            ""
        }
    );
    for degree in (0..ROWS).step_by(TABLE_STEP_DEG as usize) {
        let reading = phasing.at(CrankAngle::new(f64::from(degree)));
        let _ = write!(out, "<tr><th scope=\"row\">{degree}°</th>");
        for cylinder in &reading.cylinders {
            let _ = write!(out, "<td>{}</td>", text::in_letters(cylinder));
        }
        if let Some(rotor) = reading.rotor {
            let (clock, past) = (
                words::degrees(rotor.clock.degrees()),
                words::past(rotor.past_deg, 2),
            );
            let _ = write!(out, "<td>{clock}</td><td>{past} No. {}</td>", rotor.tower);
        }
        if meets {
            let here = blocked(phasing, &reading);
            let _ = write!(out, "<td>{}</td>", here.as_deref().unwrap_or("clear"));
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table></div></details>\n");
}

fn cylinders(phasing: &Phasing, readings: &[Reading], bodies: &mut Bodies) -> Vec<Cylinder> {
    let units = phasing.engine().written().units;
    let (places, unit) = if units == Units::Inches {
        (3, 25.4)
    } else {
        (2, 1.0)
    };
    let mut cylinder = |number: u8| {
        let mut of = |value: fn(&CylinderReading) -> f64| {
            bodies.table(Table::of(readings, places, |reading| {
                reading.cylinder(number).map_or(0.0, value) / unit
            }))
        };
        let each = |letter: fn(&CylinderReading) -> char| {
            readings
                .iter()
                .filter_map(|reading| reading.cylinder(number))
                .map(letter)
                .collect()
        };
        Cylinder {
            number,
            drop: of(|cylinder| cylinder.piston_drop_mm),
            intake: of(|cylinder| cylinder.intake.lift_mm),
            exhaust: of(|cylinder| cylinder.exhaust.lift_mm),
            strokes: each(|cylinder| {
                strokes::letter(cylinder.stroke)
                    .chars()
                    .next()
                    .unwrap_or(' ')
            }),
            open: each(
                |cylinder| match (cylinder.intake.open, cylinder.exhaust.open) {
                    (false, false) => '0',
                    (true, false) => '1',
                    (false, true) => '2',
                    (true, true) => '3',
                },
            ),
        }
    };
    phasing
        .cylinders()
        .iter()
        .map(|own| cylinder(own.number))
        .collect()
}

fn data<'a>(
    phasing: &'a Phasing,
    readings: &[Reading],
    cylinders: Vec<Cylinder>,
    bodies: &'a Bodies,
    quiz: bool,
) -> Data<'a> {
    let next = |which: fn(&Reading) -> (u8, CrankTurn)| Next {
        cylinder: readings.iter().map(|reading| which(reading).0).collect(),
        after: Table::of(readings, 2, |reading| which(reading).1.degrees()),
    };
    let wasted = |reading: &Reading| text::after_next_spark(phasing, reading);
    let rotor = readings
        .iter()
        .all(|reading| reading.rotor.is_some())
        .then(|| Rotor {
            clock: Table::of(readings, 2, |reading| {
                reading.rotor.map_or(0.0, |rotor| rotor.clock.degrees())
            }),
            past: Table::of(readings, 2, |reading| {
                reading.rotor.map_or(0.0, |rotor| rotor.past_deg)
            }),
            tower: readings
                .iter()
                .filter_map(|reading| reading.rotor)
                .map(|rotor| rotor.tower_index)
                .collect(),
        });
    let marks = (0..phasing.engine().written().marks.len())
        .map(|index| {
            Table::of(readings, 2, |reading| {
                reading
                    .marks
                    .get(index)
                    .map_or(0.0, |clock| clock.degrees())
            })
        })
        .collect();
    let (mut blocks, mut blocked_at) = (vec![String::new()], Vec::new());
    if phasing.valve_clearance().meets() {
        for reading in readings {
            let sentence = blocked(phasing, reading).unwrap_or_default();
            let known = blocks.iter().position(|known| *known == sentence);
            blocked_at.push(known.unwrap_or_else(|| {
                blocks.push(sentence);
                blocks.len() - 1
            }));
        }
    }
    Data {
        rows: ROWS,
        fires: phasing
            .cylinders()
            .iter()
            .map(|own| own.fires.degrees())
            .collect(),
        down: phasing.slider().down_stroke_deg(),
        leads: phasing.leads(),
        quiz: quiz.then(|| Questions::of(phasing)),
        unit: phasing.engine().written().units.short(),
        cylinders,
        firing: next(|reading| {
            let firing = reading.next_firing_tdc;
            (firing.cylinder, firing.after)
        }),
        spark: next(|reading| (reading.next_spark.cylinder, reading.next_spark.after)),
        wasted: if phasing.engine().sparks_every_turn() {
            readings.iter().map(wasted).collect()
        } else {
            Vec::new()
        },
        rotor,
        marks,
        blocks,
        blocked: blocked_at,
        tables: &bodies.tables,
        bodies: &bodies.bodies,
        letters: &bodies.letters,
    }
}
