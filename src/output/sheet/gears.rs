//! The timing marks, at the crank angle where they meet.

use super::options::{SheetOptions, SheetPart};
use crate::angle::{Clock, CrankAngle};
use crate::description::DriveKind;
use crate::drawing::View as _;
use crate::drawing::gear_face::GearFace;
use crate::drawing::meeting::meeting as large;
use crate::laws::{chain_run, gear_train};
use crate::output::as_built::first;
use crate::output::paper::{BOX, Beside, Over, PLAIN_MM, PageWriter};
use crate::output::text::by_the_pointer;
use crate::phasing::Phasing;
use crate::procedures::witnesses::witnesses;
use crate::words::{ahead, degrees, from_firing_tdc, teeth};

/// About how high the witnesses stand.
const WITNESSES_MM: f64 = 66.0;

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing, wanted: &SheetOptions) {
    let drive = &phasing.engine().metric().cam_drive;
    let meet = CrankAngle::new(drive.marks_meet_at());
    writer.start("Timing marks", Over::Turning);
    let counted = chain_run::count_words(drive);
    let (wheels, what) = match drive.kind {
        DriveKind::Gears => (
            "gears",
            "the cam gear's dot stands between the crank gear's two",
        ),
        DriveKind::Chain => (
            "sprockets",
            "the two dots stand on the line between the shafts",
        ),
        DriveKind::Belt => (
            "pulleys",
            "the two dots stand on the line between the shafts",
        ),
    };
    let what = if phasing.engine().has_several_camshafts() {
        "every camshaft's dot stands where it is drawn here, all of them together"
    } else {
        what
    };
    let what = counted.as_ref().map_or(what.to_owned(), |count| {
        format!("{count} lie between the two dots")
    });
    let cams = phasing.assembly().cams();
    let engine = phasing.engine();
    let shown = if cams.are_right() {
        format!("The {wheels} from the front, the crank where the marks meet: {what}.")
    } else {
        let dots = cams.out().map(|(camshaft, out)| {
            let name = engine.camshaft_name(camshaft);
            format!("the {name}'s dot is {} {}", teeth(out), ahead(out > 0))
        });
        let dots: Vec<String> = dots.collect();
        format!(
            "The {wheels} from the front as built, the crank where the marks meet as drawn. As drawn {what}; as built {}, in its own direction.",
            dots.join(", ")
        )
    };
    let clock = "Degrees of a place run clockwise from straight up.";
    writer.paragraph(&format!("{shown} {clock}"), PLAIN_MM, false);
    // They stand two beside each other.
    let rows =
        3 + usize::from(counted.is_some()) + phasing.engine().written().marks.len().div_ceil(2);
    let follows = writer.rows_height(rows) + writer.rests_on_height(SheetPart::Gears.subjects());
    let (face, reading) = (GearFace::new(phasing), phasing.at(meet));
    let says = format!(
        "The {wheels} of the cam drive from the front, the crank where the marks meet, each mark with its name."
    );
    writer.skip(1.6);
    match large(&face, &reading) {
        Some(meeting) => writer.draw_beside(&[
            Beside {
                drawing: face.at(&reading),
                says,
                is_captioned: false,
                wide_mm: 86.0,
            },
            Beside {
                drawing: meeting,
                says: "The marks where they meet, drawn large, each with its name.".to_owned(),
                is_captioned: false,
                wide_mm: 92.0,
            },
        ]),
        None => writer.draw(&face.at(&reading), &says, 112.0, follows + WITNESSES_MM),
    }
    let at = drive.marks_meet_at();
    let first = first(phasing);
    let go_on = if at == 0.0 || first.is_some() {
        ""
    } else if at > 0.0 {
        ": the marks have gone by there, so turn on to the next"
    } else {
        ": turn the crank on by that much to reach it"
    };
    let place = format!("{}{go_on}", from_firing_tdc(at));
    let name = if cams.are_right() {
        "marks meet"
    } else {
        "meet as drawn"
    };
    let mut facts = vec![(name.to_owned(), place)];
    if let Some(first) = &first {
        facts.push(("before it is turned".to_owned(), first.clone()));
    }
    facts.push((
        "again".to_owned(),
        format!(
            "every {} turns of the crank",
            gear_train::turns_between_meetings(drive)
        ),
    ));
    if let Some(count) = &counted {
        let out = chain_run::miscounted_words(drive);
        let tooth = degrees(gear_train::crank_per_cam_tooth(drive).degrees());
        let counted = format!("{count}; {out}, {tooth} of crank");
        facts.push(("between the marks".to_owned(), counted));
    }
    facts.extend(drive_facts(phasing));
    let names = phasing.engine().written().marks.iter();
    let (reading, drawn) = (
        phasing.at(meet),
        Phasing::as_drawn(phasing.engine()).at(meet),
    );
    for (index, (mark, (clock, as_drawn))) in names
        .zip(reading.marks.iter().zip(&drawn.marks))
        .enumerate()
    {
        let (clock, as_drawn) = (degrees(clock.degrees()), degrees(as_drawn.degrees()));
        let beside = if clock == as_drawn {
            String::new()
        } else {
            format!("; as drawn at {as_drawn}")
        };
        let pointer = mark.pointer_at().map_or(String::new(), |pointer| {
            let by = by_the_pointer(phasing, index, &reading).unwrap_or_default();
            format!(
                "; {by}, which is at {}",
                degrees(Clock::new(pointer).degrees())
            )
        });
        let place = format!("stands at {clock} there{beside}{pointer}");
        facts.push((mark.name.clone(), place));
    }
    writer.facts(&facts);
    if first.is_none() {
        firing_or_overlap(writer, phasing, wanted);
    }
}

/// What tells No. 1's firing TDC from its overlap at the stage asked for.
fn firing_or_overlap(writer: &mut PageWriter, phasing: &Phasing, wanted: &SheetOptions) {
    let found = witnesses(phasing, wanted.stage, &wanted.without);
    let rows: Vec<Vec<String>> = found
        .here
        .iter()
        .filter(|witness| witness.tells)
        .map(|witness| {
            vec![
                BOX.to_owned(),
                witness.name.clone(),
                witness.firing.clone(),
                witness.overlap.clone(),
            ]
        })
        .collect();
    let heading = format!("Firing or overlap, {}", wanted.stage.phrase());
    writer.heading(&heading, 30.0);
    writer.paragraph(
        "The crank's own mark cannot tell the two. Take three of these at least: all must say firing.",
        PLAIN_MM,
        false,
    );
    writer.table(&["", "look at", "at firing TDC", "on overlap"], &rows);
    if let Some(too_few) = found.too_few() {
        writer.caution(&too_few);
    }
}

/// The wheels' teeth, and what one of them comes to.
fn drive_facts(phasing: &Phasing) -> [(String, String); 3] {
    let drive = &phasing.engine().metric().cam_drive;
    let idlers: String = drive
        .idler_teeth
        .iter()
        .map(|teeth| format!("idler {teeth}, "))
        .collect();
    let (cams, turn) = if phasing.engine().has_several_camshafts() {
        ("each camshaft", "camshafts turn")
    } else {
        ("camshaft", "camshaft turns")
    };
    let teeth = format!(
        "crank {}, {idlers}{cams} {}",
        drive.crank_teeth, drive.cam_teeth
    );
    let direction = phasing.cam_direction().word().to_owned();
    let tooth = gear_train::cam_tooth(drive);
    let out = format!(
        "{} of cam, {} of crank",
        degrees(tooth.degrees()),
        degrees(tooth.at_crank().degrees())
    );
    [
        ("teeth".to_owned(), teeth),
        (turn.to_owned(), direction),
        ("one tooth out".to_owned(), out),
    ]
}
