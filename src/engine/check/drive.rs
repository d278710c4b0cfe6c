//! The drives: 2:1 from crank to camshaft and to the distributor, and idlers that hide the marks.

use super::fault::DescriptionFault;
use crate::description::{Description, DriveKind, DrivenBy};
use crate::laws::gear_train::turns_between_meetings;
use crate::source::Finding;

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
            .why("in a chain or belt an idler only guides: the camshaft turns with the crank all the same")
            .fix("leave `idler_teeth` out, or make the drive `Gears`")
    })
}
