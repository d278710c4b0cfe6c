//! What readings of a degree wheel come to, in text: the headline, the centres, the verdict.

use crate::description::{DriveKind, Valve};
use crate::diagnosis::remedy;
use crate::diagnosis::stage::Stage;
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::{self, CamTeeth};
use crate::output::terminal::TextWriter;
use crate::procedures::degreeing::{
    Degreed, DegreedCamshaft, Found, LOBE_WITHIN_DEG, RIGHT_WITHIN_DEG,
};
use crate::words::{advanced, capitalised, degrees, teeth};

/// What the readings of an engine come to, in a line.
pub(super) fn headline(engine: &Engine, found: &Degreed, out: &mut TextWriter) {
    out.headline(format!("{}: {}", engine.name(), comes_to(found)));
}

/// What the readings come to, in a sentence that begins small.
pub(super) fn comes_to(found: &Degreed) -> String {
    if !found.camshafts.is_empty() {
        let stands: Vec<String> = found.camshafts.iter().map(stands).collect();
        return format!("{}.", stands.join("; "));
    }
    match found.found {
        Found::Right => "the camshaft stands where its card has it.".to_owned(),
        Found::Teeth => format!(
            "the camshaft is {} {}.",
            teeth(found.cam_teeth),
            advanced(found.cam_teeth > 0)
        ),
        Found::NoTooth => format!(
            "the camshaft is {}, and no tooth explains it.",
            off(found.against_card_deg)
        ),
        Found::LobesDisagree => {
            "intake and exhaust are not out alike; where the camshaft stands explains neither."
                .to_owned()
        }
    }
}

/// What the readings come to and what would correct it, and what makes them doubtful.
pub(super) fn verdict(engine: &Engine, found: &Degreed, out: &mut TextWriter) {
    if !found.camshafts.is_empty() {
        each_camshaft(engine, found, out);
        return;
    }
    out.paragraph(said(engine, found));
    if found.found == Found::Teeth {
        let out_by = Assembly {
            cam_teeth: found.cam_teeth,
            ..Assembly::default()
        };
        for line in remedy::lines(engine, &out_by, Stage::CoverOff) {
            out.hanging(format!("{line}."), "  ", "    ");
        }
    }
    doubts(found).iter().for_each(|doubt| out.paragraph(doubt));
}

/// Where one of several camshafts stands.
fn stands(own: &DegreedCamshaft) -> String {
    match own.found {
        Found::Right => format!("the {} stands where its card has it", own.name),
        Found::Teeth => format!(
            "the {} is {} {}",
            own.name,
            teeth(own.cam_teeth),
            advanced(own.cam_teeth > 0)
        ),
        Found::NoTooth => format!(
            "the {} is {}, and no tooth explains it",
            own.name,
            off(own.against_card_deg)
        ),
        Found::LobesDisagree => format!(
            "intake and exhaust of the {} are not out alike; where it stands explains neither",
            own.name
        ),
    }
}

/// What the readings of each camshaft's own valves come to, and what would correct it.
fn each_camshaft(engine: &Engine, found: &Degreed, out: &mut TextWriter) {
    let cams = found
        .camshafts
        .iter()
        .filter(|own| own.found == Found::Teeth)
        .fold(CamTeeth::default(), |cams, own| {
            cams.with(own.camshaft, own.cam_teeth)
        });
    for (index, own) in found.camshafts.iter().enumerate() {
        if index > 0 {
            out.line("");
        }
        let alone = Degreed {
            against_card_deg: own.against_card_deg,
            cam_teeth: own.cam_teeth,
            rest_deg: own.rest_deg,
            found: own.found,
            ..found.clone()
        };
        let said = said(engine, &alone);
        out.paragraph(format!("{}: {said}", capitalised(&own.name)));
        let works = |valve: &Valve| engine.camshaft_of(1, *valve) == own.camshaft;
        let doubts = Valve::BOTH.into_iter().filter(works);
        let doubts = doubts.filter_map(|valve| doubt(found, valve));
        doubts.for_each(|doubt| out.paragraph(doubt));
    }
    let not_read: Vec<&str> = engine
        .camshaft_names()
        .enumerate()
        .filter(|(camshaft, _)| found.camshafts.iter().all(|own| own.camshaft != *camshaft))
        .map(|(_, name)| name)
        .collect();
    if !not_read.is_empty() {
        out.line("");
        out.paragraph(format!(
            "Not read was the {}: this tells nothing of it.",
            not_read.join(", nor the ")
        ));
    }
    let assembly = Assembly::default().with_cams(cams);
    for line in remedy::lines(engine, &assembly, Stage::CoverOff) {
        out.hanging(format!("{line}."), "  ", "    ");
    }
}

/// `3° late`, `0°` where it is too little to read.
fn off(ahead_deg: f64) -> String {
    match ahead_deg {
        deg if deg.abs() < 0.005 => "right".to_owned(),
        deg if deg > 0.0 => format!("{} early", degrees(deg)),
        deg => format!("{} late", degrees(-deg)),
    }
}

/// What the readings come to, and what would correct it.
fn said(engine: &Engine, found: &Degreed) -> String {
    let tooth = gear_train::crank_per_cam_tooth(&engine.metric().cam_drive).degrees();
    let against = off(found.against_card_deg);
    let rest = found.rest_deg;
    match found.found {
        Found::Right => format!(
            "Against the card it is {against}; a degree wheel reads to within {}.",
            degrees(RIGHT_WITHIN_DEG)
        ),
        Found::Teeth => {
            let besides = if rest.abs() < 0.005 {
                "and nothing besides".to_owned()
            } else {
                format!("and {} besides", off(rest))
            };
            let wheel = format!(
                "Against the card it is {against}: {}, {} of crank a tooth, {besides}.",
                teeth(found.cam_teeth),
                degrees(tooth)
            );
            if rest.abs() <= RIGHT_WITHIN_DEG + found.backlash_crank_deg.unwrap_or(0.0) {
                wheel
            } else {
                format!("{wheel} With the wheel on its tooth, {}", corrected(rest))
            }
        }
        Found::NoTooth => {
            let (stretched, slack) = match engine.metric().cam_drive.kind {
                DriveKind::Gears => ("", "backlash"),
                DriveKind::Chain => (" a stretched chain,", "the chain's slack"),
                DriveKind::Belt => (" a stretched belt,", "the belt's slack"),
            };
            let play = found.backlash_crank_deg.map_or(String::new(), |play| {
                format!("; {slack} accounts for {} of it at most", degrees(play))
            });
            format!(
                "Against the card it is {against}, and one tooth is {} of crank: not a tooth, but the wheel's key,{stretched} the \
                 grinding or the reading{play}. Read again; if it stands, {}",
                degrees(tooth),
                corrected(found.against_card_deg)
            )
        }
        Found::LobesDisagree => {
            let [intake, exhaust] = found.by_valve_deg.map(|lobe| lobe.unwrap_or(0.0));
            format!(
                "The intake lobe is {}, the exhaust lobe {}: a wheel a tooth out moves both alike. Read both again at equal lift, \
                 taking up the slack in the running direction; if it stands, the camshaft is not the card's, or one of its lobes is \
                 ground or worn otherwise.",
                off(intake),
                off(exhaust)
            )
        }
    }
}

/// What takes out so many crank degrees, the camshaft so far ahead.
fn corrected(ahead_deg: f64) -> String {
    let way = if ahead_deg > 0.0 {
        "back, against its rotation"
    } else {
        "on, with its rotation"
    };
    format!(
        "turn the camshaft {} {way}, which is {} at the crank, by an offset key, an offset bush or a vernier wheel.",
        degrees(ahead_deg.abs() / 2.0),
        degrees(ahead_deg.abs())
    )
}

/// What was measured, a line each, against the card.
pub(super) fn centres(found: &Degreed, out: &mut TextWriter) {
    let mut row = |name: &str, measured: f64, side: &str, card: f64, ahead: f64| {
        out.line(format!(
            "  {name:<16} {:>7} {side:<11} card {}: {}",
            degrees(measured),
            degrees(card),
            off(ahead)
        ));
    };
    let [intake, exhaust] = found.card_deg;
    let [intake_ahead, exhaust_ahead] = found.by_valve_deg;
    if let (Some(centre), Some(ahead)) = (found.intake_centre_deg, intake_ahead) {
        row("intake centre", centre, "after TDC;", intake, ahead);
    }
    if let (Some(centre), Some(ahead)) = (found.exhaust_centre_deg, exhaust_ahead) {
        row("exhaust centre", centre, "before TDC;", exhaust, ahead);
    }
    if let (Some(separation), Some(ahead)) = (found.separation_deg, found.advance_deg) {
        out.line(format!(
            "  {:<16} {:>7} of cam; card {}",
            "separation",
            degrees(separation),
            degrees(f64::midpoint(intake, exhaust))
        ));
        out.line(format!(
            "  {:<16} {:>7} of crank {} straight up",
            "advance",
            degrees(ahead.abs()),
            if ahead < 0.0 { "behind" } else { "ahead of" }
        ));
    }
}

/// What makes the readings doubtful.
pub(super) fn doubts(found: &Degreed) -> Vec<String> {
    let doubts = Valve::BOTH.into_iter();
    doubts.filter_map(|valve| doubt(found, valve)).collect()
}

/// What makes the readings of one valve doubtful.
fn doubt(found: &Degreed, valve: Valve) -> Option<String> {
    let [intake, exhaust] = found.longer_deg;
    let longer = match valve {
        Valve::Intake => intake,
        Valve::Exhaust => exhaust,
    };
    let longer = longer.filter(|longer| longer.abs() > LOBE_WITHIN_DEG)?;
    Some(format!(
        "The {} was over that lift for {} {} than the description's lobe has it: check the lift and the dial.",
        valve.word(),
        degrees(longer.abs().round()),
        if longer > 0.0 { "longer" } else { "shorter" }
    ))
}
