//! The drives: 2:1 from crank to camshaft and to the distributor, and idlers that hide the marks.

use super::fault::DescriptionFault;
use crate::angle::{wrap, wrap_signed};
use crate::description::{CountedOn, Description, DriveKind, DrivenBy, Mark, MarkOn};
use crate::laws::gear_train::turns_between_meetings;
use crate::laws::{chain_run, gear_train};
use crate::source::Finding;
use crate::words::{by_the_tdc_mark, counted, degrees, number};

/// A drive that does not turn its shaft at half crank speed.
pub(super) fn not_two_to_one(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    let (crank, cam) = (d.cam_drive.crank_teeth, d.cam_drive.cam_teeth);
    if u64::from(cam) != 2 * u64::from(crank) {
        findings.push(
            Finding::error(DescriptionFault::CamDriveNotTwoToOne, "cam_drive.cam_teeth")
                .message(format!(
                    "{crank} teeth drive {cam}; the camshaft needs {}",
                    2 * u64::from(crank)
                ))
                .why("a four-stroke's camshaft turns once for two turns of the crank")
                .fix("count both wheels again"),
        );
    }
    for (i, camshaft) in d.camshafts.iter().enumerate() {
        let Some(teeth) = camshaft.cam_teeth else {
            continue;
        };
        if u64::from(teeth) != 2 * u64::from(crank) {
            let place = format!("camshafts[{i}].cam_teeth");
            findings.push(
                Finding::error(DescriptionFault::CamDriveNotTwoToOne, place)
                    .message(format!(
                        "{crank} teeth drive {teeth} of the {}; every camshaft needs {}",
                        camshaft.name,
                        2 * u64::from(crank)
                    ))
                    .why("a four-stroke's camshaft turns once for two turns of the crank")
                    .fix("count both wheels again, or leave it out: it is then `cam_drive.cam_teeth`"),
            );
        }
    }
    if let Some(distributor) = &d.distributor {
        let (driver, driven) = (distributor.driver_teeth, distributor.driven_teeth);
        let (shaft, times) = match distributor.driven_by {
            DrivenBy::Camshaft => ("camshaft", 1),
            DrivenBy::Crankshaft => ("crankshaft", 2),
        };
        if u64::from(driven) != times * u64::from(driver) {
            findings.push(
                Finding::error(
                    DescriptionFault::DistributorDriveNotTwoToOne,
                    "distributor.driven_teeth",
                )
                .message(format!(
                    "{driver} teeth on the {shaft} drive {driven}; the distributor needs {}",
                    times * u64::from(driver)
                ))
                .why("the rotor turns once for two turns of the crank")
                .fix("count both wheels again, or change `driven_by`"),
            );
        }
    }
    findings
}

/// Idlers whose marks come together with the others only after more than two turns.
pub(super) fn idler_hides_the_marks(d: &Description) -> Option<Finding> {
    let turns = turns_between_meetings(&d.cam_drive);
    (turns > 2).then(|| {
        Finding::warning(DescriptionFault::IdlerHidesTheMarks, "cam_drive.idler_teeth")
            .message(format!("with this idler all the marks meet only every {turns} turns of the crank"))
            .why("a builder who turns the crank twice to check finds the idler's marks apart, though nothing is wrong")
            .fix("check by crank and cam marks alone, or set the idler's marks when the drive goes together")
    })
}

/// Idlers in a chain or belt drive: they reverse nothing.
pub(super) fn idlers_without_gears(d: &Description) -> Option<Finding> {
    (d.cam_drive.kind != DriveKind::Gears && !d.cam_drive.idler_teeth.is_empty()).then(|| {
        Finding::warning(DescriptionFault::IdlersWithoutGears, "cam_drive.idler_teeth")
            .message("idlers are given for a drive that is not of gears")
            .why("on a chain or belt a tensioner or guide wheel turns nothing about and hides no mark: the camshaft turns with the crank all the same")
            .fix("leave `idler_teeth` out, or make the drive `Gears`")
    })
}

/// What only a chain or belt has, given for gears.
pub(super) fn chain_field_on_gears(d: &Description) -> Vec<Finding> {
    let drive = &d.cam_drive;
    if drive.kind != DriveKind::Gears {
        return Vec::new();
    }
    let given = [
        (
            "pitch",
            drive.pitch.is_some(),
            "the size of gears follows from `module` or `diametral_pitch`",
        ),
        (
            "links_between_marks",
            drive.links_between_marks.is_some(),
            "gears are set with their marks together, and nothing is counted between them",
        ),
        (
            "counted_on",
            drive.counted_on.is_some(),
            "gears have neither a tight nor a slack side",
        ),
    ];
    let finding = |(name, _, why): (&str, bool, &str)| {
        Finding::warning(
            DescriptionFault::ChainFieldOnGears,
            format!("cam_drive.{name}"),
        )
        .message(format!(
            "`{name}` is given for a drive of gears; only a chain or belt has it"
        ))
        .why(why)
        .fix(format!(
            "leave `{name}` out, or make the drive `Chain` or `Belt`"
        ))
    };
    given
        .into_iter()
        .filter(|(_, is_given, _)| *is_given)
        .map(finding)
        .collect()
}

/// Links between the marks that no chain on these wheels can have; lengths in millimetres.
pub(super) fn links_cannot_be(d: &Description) -> Option<Finding> {
    /// A link more or less may be counted at either end.
    const WITHIN: f64 = 1.0;
    /// Centres of a chain drive are at most so many pitches apart (*Machinery's Handbook*, roller
    /// chain drives, from memory).
    const FURTHEST: f64 = 80.0;
    let drive = &d.cam_drive;
    let links = drive
        .links_between_marks
        .filter(|_| drive.kind != DriveKind::Gears)?;
    let throw_mm = d.crankshaft.stroke / 2.0;
    let overhead = d.has_overhead_camshafts();
    let mut centres = (chain_run::nearest_centres(drive), FURTHEST);
    if let Some(pitch_mm) = drive.pitch {
        if overhead {
            // Over the valves it lies further up than the gudgeon pin ever comes.
            centres.0 = f64::max(centres.0, (d.rod_length + throw_mm) / pitch_mm);
        }
        let far_mm = 2.0 * (d.rod_length + throw_mm + 2.0 * d.bore);
        centres.1 = far_mm / pitch_mm;
    }
    centres.1 = centres.1.max(centres.0);
    let up = match d.banks.as_slice() {
        [bank] if overhead => Some(bank.angle),
        _ => None,
    };
    let towards = drive.cam_at.or(up);
    let from_the_line = towards.and_then(|towards| chain_run::cam_mark_deg(d, towards));
    let possible = chain_run::links_possible(drive, from_the_line, centres);
    let count = f64::from(links);
    if (possible.least - WITHIN..=possible.most + WITHIN).contains(&count) {
        return None;
    }
    let (one, more) = chain_run::link_words(drive.kind);
    let side = match drive.counted_on() {
        CountedOn::TightSide => "tight",
        CountedOn::SlackSide => "slack",
    };
    Some(
        Finding::warning(
            DescriptionFault::LinksCannotBe,
            "cam_drive.links_between_marks",
        )
        .message(format!(
            "{} cannot lie between the marks of these wheels: on the {side} side there are {} to {}",
            counted(links as usize, one, more),
            possible.least.ceil(),
            possible.most.floor()
        ))
        .why(format!(
            "a {one} more or fewer is a tooth out on the camshaft, {} of crank",
            degrees(gear_train::crank_per_cam_tooth(drive).degrees())
        ))
        .fix(format!(
            "count the {more} again from the crank wheel's mark to the camshaft's, and the wheels' teeth; or say with `counted_on` that it is the other side"
        )),
    )
}

/// A mark on the cam gear that does not come to the crank's gear where the marks are said to meet;
/// those of chains and belts may stand anywhere, so many links apart. Which way the crank's wheel lies from the camshaft is told by `cam_at`, else by a mark on
/// the crank that lies along the line of both shafts there.
///
/// Of several camshafts each is asked; `cam_at` tells where the first one lies.
pub(super) fn marks_do_not_meet(d: &Description) -> Vec<Finding> {
    if d.cam_drive.kind != DriveKind::Gears {
        return Vec::new();
    }
    (0..d.camshaft_count())
        .filter_map(|camshaft| marks_of_one_do_not_meet(d, camshaft))
        .collect()
}

fn marks_of_one_do_not_meet(d: &Description, camshaft: usize) -> Option<Finding> {
    let (index, mark) = d
        .marks
        .iter()
        .enumerate()
        .find(|(_, mark)| mark.on.camshaft() == Some(camshaft))?;
    let (meet, cam) = (
        d.cam_drive.marks_meet_at(),
        gear_train::cam_direction(&d.cam_drive, d.crankshaft.rotation()).sign(),
    );
    let within = gear_train::cam_tooth(&d.cam_drive).degrees() / 2.0;
    let at_meeting = mark.at + cam * meet / 2.0;
    let off = |to_the_crank: f64| wrap_signed(at_meeting - to_the_crank, 360.0).abs();
    let to_the_crank = match d.cam_drive.cam_at.filter(|_| camshaft == 0) {
        Some(cam_at) => cam_at + 180.0,
        None => along_the_shafts(d, at_meeting, within)?,
    };
    if off(to_the_crank) <= within {
        return None;
    }
    let (here, other) = (
        wrap(to_the_crank - cam * meet / 2.0, 360.0),
        wrap(to_the_crank - cam * meet / 2.0 + 180.0, 360.0),
    );
    Some(
        Finding::warning(
            DescriptionFault::MarksDoNotMeet,
            format!("marks[{index}].at"),
        )
        .message(format!(
            "the {} does not come to the crank's wheel where the marks are said to meet: it stands {} away from it there",
            mark.name,
            degrees(off(to_the_crank).round())
        ))
        .why("a mark described half a turn out teaches the overlap for the firing TDC, and the distributor goes in half a turn out")
        .fix(format!(
            "with the marks meeting at {} it stands at {} with No. 1 at firing TDC: write `at: {}`; where they meet a turn later, on the other TDC, it stands at {}: write that and `marks_meet_at: {}`",
            degrees(meet),
            degrees(here),
            number(here, 1),
            degrees(other),
            number(wrap(meet + 360.0, 720.0), 1)
        )),
    )
}

/// A mark of the crank's that comes to the pointer described for it nowhere near a dead centre.
pub(super) fn pointer_far_from_tdc(d: &Description, firing_angles: &[f64]) -> Vec<Finding> {
    /// Sparks come no earlier than this before TDC, and a timing mark has no business further off:
    /// common practice, no source.
    const FAR_DEG: f64 = 60.0;
    let turns = d.crankshaft.rotation().sign();
    let marks = d.marks.iter().enumerate();
    let far = |(index, mark): (usize, &Mark)| {
        let pointer = mark.pointer_at.filter(|_| mark.turns_with_the_crank())?;
        let comes = turns * (pointer - mark.at);
        let nearest = firing_angles
            .iter()
            .map(|fires| wrap_signed(comes - fires, 360.0).abs())
            .fold(f64::INFINITY, f64::min);
        (nearest > FAR_DEG).then(|| {
            Finding::warning(
                DescriptionFault::PointerFarFromTdc,
                format!("marks[{index}].pointer_at"),
            )
            .message(format!(
                "the {} comes to its pointer {}, {} from the nearest dead centre of any cylinder; within {} is usual",
                mark.name,
                by_the_tdc_mark(comes).trim_end_matches(" mark"),
                degrees(nearest),
                degrees(FAR_DEG)
            ))
            .why("a timing mark is read near a top dead centre: read elsewhere, it sets nothing, and a builder who trusts it is that far out")
            .fix("see both from the front, the end away from the flywheel: where one was read from the flywheel's end, write 360 less it")
        })
    };
    marks.filter_map(far).collect()
}

/// The direction from the camshaft to the crank that a mark on the crank tells, where one lies along
/// the line of both shafts when the marks meet: away from the camshaft's mark or towards it.
fn along_the_shafts(d: &Description, cam_mark_deg: f64, within_deg: f64) -> Option<f64> {
    let turned = d.crankshaft.rotation().sign() * d.cam_drive.marks_meet_at();
    let bore = d.banks.first().map_or(0.0, |bank| bank.angle);
    let crank_marks = d.marks.iter().filter(|mark| {
        // A mark along No. 1's bore is its TDC mark, and need not be the wheel's own.
        mark.on == MarkOn::Crankshaft && wrap_signed(mark.at - bore, 180.0).abs() > within_deg
    });
    let mut faces = crank_marks.map(|mark| mark.at + turned + 180.0);
    // The mark of a pulley or a flywheel stands anywhere: it tells nothing here.
    faces.find(|to_the_crank| wrap_signed(cam_mark_deg - to_the_crank, 180.0).abs() <= within_deg)
}
