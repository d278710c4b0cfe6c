//! Parts put in on the model itself: a cam wheel dragged round and laid in by a click, a lead
//! plugged into the tower that is clicked on.

use bevy::picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings, RayCastVisibility};
use bevy::prelude::*;
use glam::DVec3;

use super::by_hand::HandResponse;
use crate::angle::{CamTurn, Clock, Direction};
use crate::geometry::Layout;
use crate::geometry::crank_input::Drag;
use crate::geometry::layout::{WheelRole, clock_of};
use crate::window::app::viewport::EngineViewport;
use crate::window::scene::cam_drive::OnWheel;
use crate::window::scene::camera::PointerRay;
use crate::window::scene::part::{Part, PartKind};
use crate::window::scene::units::unit;
use crate::window::session::bench::Bench;

/// A press that moves no further than this is a click.
const STILL_PX: f32 = 4.0;

/// What the pointer has hold of.
#[derive(Clone, Copy, Debug)]
pub(super) struct Held {
    what: What,
    pressed_at: Vec2,
}

#[derive(Clone, Copy, Debug)]
enum What {
    /// The wheel of a camshaft that is out: which wheel, and how it is dragged.
    CamWheel {
        camshaft: usize,
        wheel: usize,
        drag: Drag,
        from_deg: f64,
    },
    /// A tower, by its place among the leads.
    Tower(usize),
}

/// Where the pointer is, and what is under it.
#[derive(bevy::ecs::system::SystemParam)]
pub(super) struct Pointer<'w, 's> {
    buttons: Res<'w, ButtonInput<MouseButton>>,
    ray: PointerRay<'w, 's>,
    wheels: Query<'w, 's, &'static OnWheel>,
    parts: Query<'w, 's, &'static Part>,
    rays: MeshRayCast<'w, 's>,
}

impl Pointer<'_, '_> {
    /// The first part along the pointer's ray, and where it is hit.
    fn first(&mut self) -> Option<(Ray3d, Entity, Vec3)> {
        let ray = self.ray.ray()?;
        let parts = &self.parts;
        let is_part = |entity: Entity| parts.contains(entity);
        let settings = MeshRayCastSettings::default()
            .with_visibility(RayCastVisibility::Visible)
            .with_filter(&is_part);
        let (entity, hit) = self.rays.cast_ray(ray, &settings).first()?;
        Some((ray, *entity, hit.point))
    }
}

/// Takes hold of what can be put in by hand, and says what was done with it. `lead`: one is in
/// hand.
pub(super) fn follow(
    held: &mut Option<Held>,
    pointer: &mut Pointer,
    viewport: &mut EngineViewport,
    bench: &mut Bench,
    lead: Option<u8>,
) -> Option<HandResponse> {
    if pointer.buttons.just_pressed(MouseButton::Left) {
        *held = take_hold(pointer, viewport, bench, lead.is_some());
        if held.is_some() {
            viewport.set_dragging(true);
        }
        return None;
    }
    let Some(Held { what, pressed_at }) = held else {
        return None;
    };
    let moved = viewport
        .pointer()
        .is_none_or(|at| at.distance(*pressed_at) > STILL_PX);
    if !pointer.buttons.pressed(MouseButton::Left) {
        let done = match *what {
            What::CamWheel { camshaft, .. } => HandResponse::LayCamIn(camshaft),
            What::Tower(place) => HandResponse::Plug(lead.unwrap_or(0), place),
        };
        *held = None;
        viewport.set_dragging(false);
        return (!moved).then_some(done);
    }
    if let (
        What::CamWheel {
            camshaft,
            wheel,
            drag,
            from_deg,
        },
        true,
    ) = (what, moved)
        && let Some(clock) = pointer
            .ray
            .ray()
            .and_then(|ray| clock_about(ray, wheel_middle(bench, *wheel)?))
    {
        let to_deg = drag.to(clock);
        let by = CamTurn::new(to_deg - *from_deg);
        if by.degrees() != 0.0
            && let Some(at) = bench.apart().cam(*camshaft)
        {
            bench.hold_cam(*camshaft, at + by);
        }
        *from_deg = to_deg;
    }
    None
}

fn take_hold(
    pointer: &mut Pointer,
    viewport: &EngineViewport,
    bench: &Bench,
    has_lead: bool,
) -> Option<Held> {
    let pressed_at = viewport.pointer()?;
    let (ray, entity, hit) = pointer.first()?;
    let what = match pointer.wheels.get(entity) {
        Ok(OnWheel(wheel)) => cam_wheel(bench, *wheel, ray)?,
        Err(_) => {
            let part = pointer.parts.get(entity).ok()?;
            let on_cap = has_lead && part.kind == PartKind::Distributor;
            What::Tower(on_cap.then(|| tower_at(bench, hit))??)
        }
    };
    Some(Held { what, pressed_at })
}

/// The wheel of a camshaft that is out.
fn cam_wheel(bench: &Bench, wheel: usize, ray: Ray3d) -> Option<What> {
    let layout = bench.layout();
    let WheelRole::Cam(cam) = layout.wheels.get(wheel)?.role else {
        return None;
    };
    let camshaft = layout.cams.get(cam)?.camshaft;
    bench.apart().cam(camshaft)?;
    let clock = clock_about(ray, wheel_middle(bench, wheel)?)?;
    Some(What::CamWheel {
        camshaft,
        wheel,
        drag: Drag::new(bench.phasing().cam_direction(), clock, 0.0),
        from_deg: 0.0,
    })
}

fn wheel_middle(bench: &Bench, wheel: usize) -> Option<DVec3> {
    let layout = bench.layout();
    let centre = layout.wheels.get(wheel)?.centre;
    Some(centre.extend(layout.drive_z_mm) + bench.wheel_off_mm(wheel))
}

/// The clock angle about a point, seen from the front, at which a ray meets its plane.
fn clock_about(ray: Ray3d, middle: DVec3) -> Option<f64> {
    let distance = ray.intersect_plane(unit(middle), InfinitePlane3d::new(Vec3::Z))?;
    let off = (ray.get_point(distance) - unit(middle)).truncate();
    (off.length() > 1e-3).then(|| clock_of(off.as_dvec2()))
}

/// The tower that stands nearest to a point of the cap, by its place among the leads.
fn tower_at(bench: &Bench, hit: Vec3) -> Option<usize> {
    let layout: &Layout = bench.layout();
    let place = layout.distributor?;
    let off = hit - unit(place.cap);
    // From above the cap's clock 0 lies to the rear.
    let clock = Clock::new(clock_of(Vec2::new(off.x, -off.z).as_dvec2()));
    let towers = bench.phasing().towers();
    let apart = |tower: &Clock| tower.past(clock, Direction::Clockwise).abs();
    let towers = towers.iter().enumerate();
    let nearest = towers.min_by(|one, other| apart(one.1).total_cmp(&apart(other.1)));
    nearest.map(|(index, _)| index)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::{Assembly, scenes};
    use crate::window::scene::distributor::on_cap;

    #[test]
    fn a_click_beside_a_tower_is_on_that_tower() {
        for scene in ["flat_four", "bench_four", "vee_eight"] {
            let Some(scene) = scenes::find(scene) else {
                continue;
            };
            let bench = Bench::new(&scene.engine(), &Assembly::default());
            let place = bench.layout().distributor.expect("a distributor");
            for (index, tower) in bench.phasing().towers().iter().enumerate() {
                let beside = tower.degrees() + 8.0;
                let at = on_cap(&place, beside, place.radius_mm * 0.9, place.radius_mm * 0.5);
                assert_eq!(tower_at(&bench, unit(at)), Some(index), "{}", scene.name);
            }
        }
    }
}
