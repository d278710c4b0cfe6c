//! What can be given in either of two units, and is given in both or in neither.

use super::fault::DescriptionFault;
use crate::description::Description;
use crate::source::Finding;

/// A point of the vacuum curve without its depression, or with two; gears with two sizes of tooth.
pub(super) fn both_or_neither(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, point) in d.ignition.vacuum.iter().enumerate() {
        let here = format!("ignition.vacuum[{i}]");
        match (point.kpa, point.inhg) {
            (Some(_), Some(_)) => findings.push(both(format!("{here}.inhg"), "kpa", "inhg")),
            (None, None) => findings.push(
                Finding::error(DescriptionFault::NeitherOfTwo, here)
                    .message("the point has no depression: `kpa` or `inhg` is needed")
                    .why("the advance is read by the depression in the manifold")
                    .fix("add `kpa` or, where the gauge reads inches of mercury, `inhg`"),
            ),
            _ => {}
        }
    }
    if d.cam_drive.module.is_some() && d.cam_drive.diametral_pitch.is_some() {
        let place = "cam_drive.diametral_pitch".to_owned();
        findings.push(both(place, "module", "diametral_pitch"));
    }
    findings
}

fn both(place: String, one: &str, other: &str) -> Finding {
    Finding::error(DescriptionFault::BothOfTwo, place)
        .message(format!(
            "`{one}` and `{other}` are both given; one of the two is allowed"
        ))
        .why("they say the same in two units, and nobody knows which holds where they differ")
        .fix(format!("leave out `{one}` or `{other}`"))
}
