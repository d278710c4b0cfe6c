//! The timing marks, at the crank angle where they meet.

use super::Absent;
use crate::angle::CrankAngle;
use crate::description::DriveKind;
use crate::drawing::View as _;
use crate::drawing::gear_face::GearFace;
use crate::laws::gear_train;
use crate::output::paper::{PLAIN_MM, Setting};
use crate::phasing::Phasing;
use crate::words::degrees;

/// Sets the gears.
pub(super) fn set(setting: &mut Setting, phasing: &Phasing) -> Result<(), Absent> {
    let drive = &phasing.engine().metric().cam_drive;
    let meet = CrankAngle::new(drive.marks_meet_at);
    setting.start("Timing marks");
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
    setting.paragraph(
        &format!("The {wheels} from the front, the crank where the marks meet: {what}."),
        PLAIN_MM,
        false,
    );
    setting.draw(&GearFace::new(phasing).at(&phasing.at(meet)), 128.0);
    let at = drive.marks_meet_at;
    let place = if at == 0.0 {
        "at No. 1's firing TDC".to_owned()
    } else if at > 0.0 {
        format!(
            "{} after No. 1's firing TDC: the marks have gone by there, so turn on to the next",
            degrees(at)
        )
    } else {
        format!(
            "{} before No. 1's firing TDC: turn the crank on by that much to reach it",
            degrees(-at)
        )
    };
    setting.row("marks meet", &place);
    setting.row(
        "again",
        &format!(
            "every {} turns of the crank",
            gear_train::turns_between_meetings(drive)
        ),
    );
    let idlers: String = drive
        .idler_teeth
        .iter()
        .map(|teeth| format!("idler {teeth}, "))
        .collect();
    setting.row(
        "teeth",
        &format!(
            "crank {}, {idlers}camshaft {}",
            drive.crank_teeth, drive.cam_teeth
        ),
    );
    setting.row(
        "camshaft turns",
        &format!("{}, seen from the front", phasing.cam_direction().word()),
    );
    let tooth = gear_train::cam_tooth(drive);
    setting.row(
        "one tooth out",
        &format!(
            "{} of cam, {} of crank",
            degrees(tooth.degrees()),
            degrees(tooth.at_crank().degrees())
        ),
    );
    let names = phasing.engine().written().marks.iter();
    let reading = phasing.at(meet);
    for (mark, clock) in names.zip(&reading.marks) {
        setting.row(
            &mark.name,
            &format!(
                "stands at {} there, clockwise from straight up",
                degrees(clock.degrees())
            ),
        );
    }
    Ok(())
}
