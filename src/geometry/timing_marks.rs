//! The timing marks as they stand on the model, by the names that the description gives them.

use glam::{DVec2, DVec3};

use super::clock::towards;
use super::layout::{Layout, Wheel, WheelRole};
use super::pose::Pose;
use crate::description::MarkOn;
use crate::phasing::Phasing;

/// A mark on a wheel, a pulley or a flywheel.
#[derive(Clone, Debug, PartialEq)]
pub struct TimingMark {
    /// What it is called, as described.
    pub name: String,
    /// Its middle.
    pub at: DVec3,
    /// Within how far of that, seen from the front, one means it.
    pub reach_mm: f64,
    /// Within how far of that along the shaft.
    pub depth_mm: f64,
}

impl TimingMark {
    /// Whether a point on the model is on it.
    pub fn is_at(&self, point: DVec3) -> bool {
        let off = point - self.at;
        off.truncate().length() <= self.reach_mm && off.z.abs() <= self.depth_mm
    }
}

/// Every mark that is described and drawn, with the crank turned `turned_deg` on from θ = 0.
pub fn timing_marks(
    layout: &Layout,
    phasing: &Phasing,
    pose: &Pose,
    turned_deg: f64,
) -> Vec<TimingMark> {
    let described = &phasing.engine().metric().marks;
    let named = |on: &dyn Fn(MarkOn) -> bool| {
        let mark = described.iter().find(|mark| on(mark.on));
        mark.map(|mark| mark.name.clone())
    };
    let mut marks = Vec::new();
    if let Some(name) = named(&|on| on == MarkOn::Crankshaft) {
        let pulley = &layout.pulley;
        let middle = towards(pulley.mark_deg + pose.crank_clockwise_deg) * pulley.radius_mm * 0.93;
        marks.push(TimingMark {
            name,
            at: middle.extend(pulley.z_mm),
            reach_mm: pulley.radius_mm * 0.09,
            depth_mm: pulley.width_mm,
        });
    }
    if let Some(flywheel) = &layout.flywheel {
        let on_it = described.iter().filter(|mark| mark.on == MarkOn::Flywheel);
        for (mark, (mark_deg, _)) in on_it.zip(&flywheel.marks) {
            let middle = towards(mark_deg + pose.crank_clockwise_deg) * flywheel.radius_mm * 0.93;
            marks.push(TimingMark {
                name: mark.name.clone(),
                at: middle.extend(flywheel.z_mm),
                reach_mm: flywheel.radius_mm * 0.09,
                depth_mm: flywheel.width_mm,
            });
        }
    }
    for (index, wheel) in layout.wheels.iter().enumerate() {
        let name = match wheel.role {
            WheelRole::Crank => None,
            WheelRole::Idler(which) => named(&|on| on == MarkOn::Idler(which)),
            WheelRole::Cam(cam) => {
                let camshaft = layout.cams.get(cam).map(|cam| cam.camshaft);
                named(&|on| on.camshaft().is_some() && on.camshaft() == camshaft)
            }
        };
        if let Some(name) = name {
            let tooth_deg = pose.wheel_deg(layout, index, turned_deg, phasing);
            marks.extend(dots(layout, wheel, tooth_deg, &name));
        }
    }
    marks
}

/// The dots of a wheel whose tooth 0 stands at `tooth_deg`.
fn dots<'a>(
    layout: &'a Layout,
    wheel: &'a Wheel,
    tooth_deg: f64,
    name: &'a str,
) -> impl Iterator<Item = TimingMark> + 'a {
    let pitch_deg = 360.0 / f64::from(wheel.teeth);
    wheel.dots.iter().map(move |&tooth| {
        let out: DVec2 = towards(tooth_deg + pitch_deg * f64::from(tooth));
        TimingMark {
            name: name.to_owned(),
            at: (wheel.centre + out * (wheel.pitch_radius_mm - 1.6 * layout.module_mm))
                .extend(layout.drive_z_mm),
            reach_mm: f64::max(2.2 * layout.module_mm, 0.045 * layout.measures.bore_mm),
            depth_mm: layout.wheel_width_mm,
        }
    })
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;
    use crate::angle::wrap_signed;
    use crate::engine::scenes::{BENCH, SCENES};
    use crate::geometry::clock::clock_of;

    fn marks_at(
        engine: &std::sync::Arc<crate::engine::Engine>,
        turned_deg: f64,
    ) -> Vec<TimingMark> {
        let phasing = Phasing::as_drawn(engine);
        let pose = Pose::at(&phasing, turned_deg);
        timing_marks(&Layout::of(engine), &phasing, &pose, turned_deg)
    }

    #[test]
    fn the_bench_engines_marks_stand_where_it_says_and_turn_with_what_they_are_on() {
        let engine = BENCH.engine();
        let centre = Layout::of(&engine).cams[0].centre;
        for (turned_deg, notch_deg, dot_deg) in [(0.0, 0.0, 240.0), (90.0, 90.0, 195.0)] {
            let marks = marks_at(&engine, turned_deg);
            let named = |name: &str| {
                let mark = marks.iter().find(|mark| mark.name == name);
                mark.expect("a mark of this name").at.truncate()
            };
            let off = |at: DVec2, deg: f64| wrap_signed(clock_of(at) - deg, 360.0);
            assert_abs_diff_eq!(off(named("pulley notch"), notch_deg), 0.0, epsilon = 1e-6);
            let dot = named("cam gear dot") - centre;
            assert_abs_diff_eq!(off(dot, dot_deg), 0.0, epsilon = 1e-6);
        }
    }

    #[test]
    fn every_mark_has_a_name_that_its_description_gives() {
        for scene in &SCENES {
            let engine = scene.engine();
            let described = &engine.metric().marks;
            for mark in marks_at(&engine, 30.0) {
                assert!(
                    described.iter().any(|each| each.name == mark.name),
                    "{}: {}",
                    scene.name,
                    mark.name
                );
                assert!(
                    mark.is_at(mark.at) && !mark.is_at(mark.at + DVec3::X * 2.0 * mark.reach_mm)
                );
            }
        }
    }
}
