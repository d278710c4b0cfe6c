//! The timing marks, at the crank angle where they meet.

use crate::angle::CrankAngle;
use crate::description::DriveKind;
use crate::drawing::View as _;
use crate::drawing::gear_face::GearFace;
use crate::laws::gear_train;
use crate::output::paper::{PLAIN_MM, PageWriter};
use crate::phasing::Phasing;
use crate::words::{degrees, from_firing_tdc};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) {
    let drive = &phasing.engine().metric().cam_drive;
    let meet = CrankAngle::new(drive.marks_meet_at);
    writer.start("Timing marks");
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
    writer.paragraph(
        &format!("The {wheels} from the front, the crank where the marks meet: {what}."),
        PLAIN_MM,
        false,
    );
    writer.draw(&GearFace::new(phasing).at(&phasing.at(meet)), 128.0);
    let at = drive.marks_meet_at;
    let go_on = if at == 0.0 {
        ""
    } else if at > 0.0 {
        ": the marks have gone by there, so turn on to the next"
    } else {
        ": turn the crank on by that much to reach it"
    };
    let place = format!("{}{go_on}", from_firing_tdc(at));
    writer.row("marks meet", &place);
    writer.row(
        "again",
        &format!(
            "every {} turns of the crank",
            gear_train::turns_between_meetings(drive)
        ),
    );
    drive_rows(writer, phasing);
    let names = phasing.engine().written().marks.iter();
    let reading = phasing.at(meet);
    for (mark, clock) in names.zip(&reading.marks) {
        writer.row(
            &mark.name,
            &format!(
                "stands at {} there, clockwise from straight up",
                degrees(clock.degrees())
            ),
        );
    }
}

/// The wheels' teeth, and what one of them comes to.
fn drive_rows(writer: &mut PageWriter, phasing: &Phasing) {
    let drive = &phasing.engine().metric().cam_drive;
    let idlers: String = drive
        .idler_teeth
        .iter()
        .map(|teeth| format!("idler {teeth}, "))
        .collect();
    writer.row(
        "teeth",
        &format!(
            "crank {}, {idlers}camshaft {}",
            drive.crank_teeth, drive.cam_teeth
        ),
    );
    writer.row(
        "camshaft turns",
        &format!("{}, seen from the front", phasing.cam_direction().word()),
    );
    let tooth = gear_train::cam_tooth(drive);
    writer.row(
        "one tooth out",
        &format!(
            "{} of cam, {} of crank",
            degrees(tooth.degrees()),
            degrees(tooth.at_crank().degrees())
        ),
    );
}
