//! Which parts are shown: whole, see-through or not at all; and which part is under the pointer.

use bevy::camera::visibility::VisibilitySystems;
use bevy::picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings, RayCastVisibility};
use bevy::prelude::*;
use bevy_panorbit_camera::PanOrbitCameraSystemSet;

use super::camera::PointerRay;
use super::materials::{PartMaterial, PartMaterials};
use super::part::{Glass, InWith, OwnMaterial, Part, PartKind, PartName};
use super::units::UNIT_MM;
use crate::geometry::timing_marks::timing_marks;
use crate::window::app::schedule::FrameSet;
use crate::window::app::viewport::EngineViewport;
use crate::window::session::bench::Bench;
use crate::window::session::open_question::OpenQuestion;
use crate::words::capitalised;

/// Shows parts and hides them.
pub(crate) struct ShownPlugin;

impl Plugin for ShownPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Shown>()
            .init_resource::<FromTheFront>()
            .init_resource::<OpenQuestion>();
        app.add_systems(
            PostUpdate,
            (
                look_along_the_shaft,
                show.run_if(
                    resource_changed::<Shown>
                        .or_else(resource_changed::<Bench>)
                        .or_else(resource_changed::<FromTheFront>)
                        .or_else(resource_changed::<OpenQuestion>)
                        .or_else(parts_are_new),
                ),
            )
                .chain()
                .after(PanOrbitCameraSystemSet)
                .before(VisibilitySystems::VisibilityPropagate),
        );
    }
}

/// Names the part under the pointer.
pub(crate) struct PartsShownPlugin;

impl Plugin for PartsShownPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<UnderPointer>();
        app.add_systems(Update, find_under_pointer.after(FrameSet::Camera));
    }
}

/// The engine is looked at straight from the front where the camera is less than 12° from the shaft,
/// this being the cosine: further round, the wheels are seen beside the pulley.
pub(crate) const FROM_THE_FRONT: f32 = 0.978;

/// Whether the engine is looked at straight from the front: the pulley is then seen through, or it
/// would hide the wheels.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
struct FromTheFront(bool);

/// Whether parts were spawned since this was asked last: a frame after the engine that they belong to
/// changed, and whole until they are asked about.
fn parts_are_new(parts: Query<(), Added<Part>>) -> bool {
    !parts.is_empty()
}

fn look_along_the_shaft(
    cameras: Query<&Transform, With<Camera3d>>,
    mut from_the_front: ResMut<FromTheFront>,
) {
    if let Some(camera) = cameras.iter().next() {
        from_the_front.set_if_neq(FromTheFront(camera.back().z > FROM_THE_FRONT));
    }
}

/// How a kind of part is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(crate) enum PartDisplay {
    /// In its own material.
    #[default]
    Whole,
    /// Seen through.
    SeeThrough,
    Hidden,
}

/// How each kind of part is shown.
#[derive(Resource, Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Shown {
    kinds: [PartDisplay; PartKind::ALL.len()],
    pub(crate) cut_away: bool,
}

impl Shown {
    /// How a kind is shown.
    pub(crate) fn of(&self, kind: PartKind) -> PartDisplay {
        PartKind::ALL
            .iter()
            .position(|each| *each == kind)
            .map_or(PartDisplay::Whole, |index| self.kinds[index])
    }

    /// Chooses how a kind is shown.
    pub(crate) fn set(&mut self, kind: PartKind, how: PartDisplay) {
        if let Some(index) = PartKind::ALL.iter().position(|each| *each == kind) {
            self.kinds[index] = how;
        }
    }

    /// Shows one kind and hides the others; where it is alone already, shows all again.
    pub(crate) fn toggle_alone(&mut self, kind: PartKind) {
        let only = PartKind::ALL.map(|each| {
            if each == kind {
                PartDisplay::Whole
            } else {
                PartDisplay::Hidden
            }
        });
        self.kinds = if self.kinds == only {
            Default::default()
        } else {
            only
        };
    }
}

/// A part, and what decides how it is shown.
type Displayed = (
    &'static Part,
    &'static OwnMaterial,
    Option<&'static InWith>,
    &'static mut Visibility,
    &'static mut MeshMaterial3d<PartMaterial>,
);

fn show(
    shown: Res<Shown>,
    from_the_front: Res<FromTheFront>,
    question: Res<OpenQuestion>,
    bench: Res<Bench>,
    materials: Res<PartMaterials>,
    mut parts: Query<Displayed, Without<super::distributor::Spark>>,
) {
    for (part, own, in_with, mut visibility, mut material) in &mut parts {
        let how = match shown.of(part.kind) {
            // It would hide the mark that a cam wheel is laid in by.
            PartDisplay::Whole if part.kind == PartKind::Pulley && bench.apart().has_cam_out() => {
                PartDisplay::SeeThrough
            }
            how => how,
        };
        let hidden = how == PartDisplay::Hidden
            || own.0 == materials.ghost && question.0.is_some()
            || in_with.is_some_and(|with| !with.is_in(&bench));
        let wanted = if hidden {
            Visibility::Hidden
        } else {
            Visibility::Inherited
        };
        if *visibility != wanted {
            *visibility = wanted;
        }
        let clear =
            how == PartDisplay::SeeThrough || from_the_front.0 && part.kind == PartKind::Pulley;
        let of = if clear && own.0 == materials.opaque {
            &materials.see_through
        } else {
            &own.0
        };
        if material.0 != *of {
            material.0 = of.clone();
        }
    }
}

#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub(crate) struct UnderPointer {
    name: Option<String>,
    looked: Option<Looked>,
}

impl UnderPointer {
    /// The part's name; None where no part is under the pointer, or it is moving.
    pub(crate) fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }
}

/// Everything that decides which part is under the pointer.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Looked {
    pointer: Option<Vec2>,
    camera: Transform,
    turned_deg: f64,
    generation: u32,
}

/// Names the part under the pointer, anew only where something it depends on has changed.
fn find_under_pointer(
    pointer_ray: PointerRay,
    buttons: Res<ButtonInput<MouseButton>>,
    viewport: Res<EngineViewport>,
    bench: Res<Bench>,
    names: Names,
    mut rays: MeshRayCast,
    mut under: ResMut<UnderPointer>,
) {
    let Some(camera) = pointer_ray.camera() else {
        return;
    };
    // What moves past the pointer is not named: only once it stands still.
    let moves = under
        .looked
        .is_some_and(|looked| looked.turned_deg != bench.turned_deg());
    let busy = moves || buttons.any_pressed([MouseButton::Left, MouseButton::Right]);
    let looked = Looked {
        pointer: viewport.pointer().filter(|_| !busy),
        camera,
        turned_deg: bench.turned_deg(),
        generation: bench.generation(),
    };
    if under.looked == Some(looked) {
        return;
    }
    let name = looked.pointer.and_then(|_| {
        let (entity, point) = first_along(pointer_ray.ray()?, &mut rays, &names)?;
        let (name, part, _) = names.get(entity).ok()?;
        mark_at(&bench, part.kind, point).or_else(|| Some(name.0.clone()))
    });
    *under = UnderPointer {
        name,
        looked: Some(looked),
    };
}

/// The parts that a ray is cast at.
pub(crate) type Names<'w, 's> = Query<'w, 's, (&'static PartName, &'static Part, Has<Glass>)>;

/// The first part along a ray, with its name; one of glass only where nothing stands behind it.
pub(crate) fn part_along<'a>(
    ray: Ray3d,
    rays: &mut MeshRayCast<'_, '_>,
    names: &'a Names<'_, '_>,
) -> Option<(&'a PartName, &'a Part)> {
    let (entity, _) = first_along(ray, rays, names)?;
    names.get(entity).ok().map(|(name, part, _)| (name, part))
}

/// The first part along a ray, glass only where nothing stands behind it, and where it is met.
fn first_along(
    ray: Ray3d,
    rays: &mut MeshRayCast<'_, '_>,
    names: &Names<'_, '_>,
) -> Option<(Entity, Vec3)> {
    let mut first = |glass: bool| {
        let wanted = |entity: Entity| {
            names
                .get(entity)
                .is_ok_and(|(.., is_glass)| is_glass == glass)
        };
        let settings = MeshRayCastSettings::default()
            .with_visibility(RayCastVisibility::Visible)
            .with_filter(&wanted);
        rays.cast_ray(ray, &settings)
            .first()
            .map(|(entity, hit)| (*entity, hit.point))
    };
    first(false).or_else(|| first(true))
}

/// The timing mark that is met at a point of a wheel, by the name that the description gives it.
fn mark_at(bench: &Bench, kind: PartKind, point: Vec3) -> Option<String> {
    if !matches!(
        kind,
        PartKind::CamDrive | PartKind::Pulley | PartKind::Flywheel
    ) {
        return None;
    }
    let point = point.as_dvec3() * UNIT_MM;
    timing_marks(
        bench.layout(),
        bench.phasing(),
        bench.pose(),
        bench.turned_deg(),
    )
    .into_iter()
    .find(|mark| mark.is_at(point))
    .map(|mark| format!("{}: timing mark", capitalised(&mark.name)))
}

#[cfg(test)]
mod tests {
    use bevy::ecs::system::RunSystemOnce;
    use glam::DVec3;

    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes::{self, BENCH};
    use crate::procedures::job::NotIn;
    use crate::window::app::{off_screen, renderer};
    use crate::window::scene;
    use crate::window::scene::units::unit;

    #[test]
    fn what_stands_behind_glass_is_named_and_the_glass_where_nothing_does() {
        let adapter =
            renderer::adapter().expect("something to draw with (Debian: mesa-vulkan-drivers)");
        let mut app = off_screen::app(adapter, UVec2::new(64, 64));
        app.insert_resource(Bench::new(&BENCH.engine(), &Assembly::default()))
            .add_plugins(scene::plugin);
        off_screen::ready(&mut app);
        (0..3).for_each(|_| off_screen::step(&mut app));
        let bench = app.world().resource::<Bench>();
        let layout = bench.layout().clone();
        let (second, gudgeon) = (layout.cylinders[1].z_mm, bench.pose().cylinders[1].gudgeon);
        // No. 2 is at the bottom. From the left, where no push rod stands before it.
        let from = |up_mm: f64| Ray3d::new(unit(DVec3::new(-1000.0, up_mm, second)), Dir3::X);
        let over_it = (gudgeon.y + layout.measures.crown_mm + layout.measures.deck_mm) / 2.0;
        let mut named = |ray: Ray3d| {
            let look = move |mut rays: MeshRayCast, names: Names| {
                part_along(ray, &mut rays, &names)
                    .map(|(name, part)| (name.0.clone(), part.cylinder))
            };
            app.world_mut().run_system_once(look).expect("run")
        };
        assert_eq!(named(from(gudgeon.y)), Some(("Piston 2".to_owned(), 2)));
        assert_eq!(named(from(over_it)), Some(("Cylinder 2".to_owned(), 2)));
        assert_eq!(named(from(5000.0)), None);
    }

    #[test]
    fn what_is_out_is_not_seen_though_a_panel_took_it_out_and_its_parts_are_spawned_a_frame_later()
    {
        fn take_apart(mut bench: ResMut<Bench>, mut done: Local<bool>) {
            if !std::mem::replace(&mut *done, true) {
                let not_in = NotIn {
                    camshafts: vec![0],
                    bearings: true,
                    distributor: true,
                    ..NotIn::default()
                };
                bench.take_apart(&Assembly::default(), &not_in);
            }
        }
        let engine = scenes::find("vee_eight").expect("a scene").engine();
        let adapter =
            renderer::adapter().expect("something to draw with (Debian: mesa-vulkan-drivers)");
        let mut app = off_screen::app(adapter, UVec2::new(64, 64));
        app.insert_resource(Bench::new(&engine, &Assembly::default()))
            .add_plugins(scene::plugin)
            // Where a panel changes it: after the parts of this frame, before they are shown.
            .add_systems(PostUpdate, take_apart.before(look_along_the_shaft));
        off_screen::ready(&mut app);
        (0..3).for_each(|_| off_screen::step(&mut app));
        let mut parts = app.world_mut().query::<(&InWith, &Visibility)>();
        let seen: Vec<_> = parts.iter(app.world()).collect();
        assert!(seen.iter().any(|(with, _)| **with == InWith::Distributor));
        assert!(seen.iter().any(|(with, _)| **with == InWith::Camshaft(0)));
        for (with, visibility) in seen {
            assert_eq!(*visibility, Visibility::Hidden, "{with:?}");
        }
    }
}
