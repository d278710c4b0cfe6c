//! Which parts are shown: whole, see-through or not at all; cylinders cut open; what the part under
//! the pointer is called.

use bevy::picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings, RayCastVisibility};
use bevy::prelude::*;
use bevy::window::PrimaryWindow;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use bevy_panorbit_camera::PanOrbitCamera;
use egui::{Align2, RichText, Ui};

use super::camera::SetView;
use super::light::Shadows;
use super::materials::{PartMaterial, PartMaterials};
use super::part::{Glass, MadeOf, Part, PartKind, PartName};
use crate::window::app::schedule::FrameSet;
use crate::window::app::viewport::EngineViewport;
use crate::window::panes;
use crate::window::panes::{AddPane, Pane, Slot, always};
use crate::window::session::bench::Bench;

/// Showing and hiding, and names on hover.
pub struct PartsShownPlugin;

impl Plugin for PartsShownPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Shown>()
            .init_resource::<UnderPointer>()
            .init_resource::<Ghosts>();
        app.add_systems(
            Update,
            show.after(FrameSet::Spawn).before(FrameSet::Move).run_if(
                resource_changed::<Shown>
                    .or_else(resource_changed::<Bench>)
                    .or_else(resource_changed::<Ghosts>),
            ),
        );
        app.add_systems(Update, look_under_pointer.after(FrameSet::Camera));
        app.add_systems(EguiPrimaryContextPass, over_the_engine.after(panes::show));
        app.add_pane(Pane {
            title: "Show",
            slot: Slot::Right,
            there: always,
            show: pane,
        });
    }
}

/// How a kind of part is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum As {
    /// As it is.
    #[default]
    Whole,
    /// Seen through.
    SeeThrough,
    /// Not at all.
    Hidden,
}

/// How each kind of part is shown.
#[derive(Resource, Clone, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    kinds: [As; PartKind::ALL.len()],
    /// Cylinders are cut open.
    pub cut_away: bool,
}

impl Shown {
    /// How a kind is shown.
    pub fn of(&self, kind: PartKind) -> As {
        PartKind::ALL
            .iter()
            .position(|each| *each == kind)
            .map_or(As::Whole, |index| self.kinds[index])
    }

    /// Shows a kind so.
    pub fn set(&mut self, kind: PartKind, how: As) {
        if let Some(index) = PartKind::ALL.iter().position(|each| *each == kind) {
            self.kinds[index] = how;
        }
    }

    /// Shows one kind and hides the others; where it is alone already, shows all again.
    pub fn alone(&mut self, kind: PartKind) {
        let only = PartKind::ALL.map(|each| if each == kind { As::Whole } else { As::Hidden });
        self.kinds = if self.kinds == only {
            Default::default()
        } else {
            only
        };
    }
}

/// Whether what is put together wrong shows, as a ghost, where it was drawn. Not while that is what
/// is asked.
#[derive(Resource, Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ghosts {
    /// It does.
    pub shown: bool,
}

impl Default for Ghosts {
    fn default() -> Self {
        Self { shown: true }
    }
}

fn show(
    shown: Res<Shown>,
    ghosts: Res<Ghosts>,
    metals: Res<PartMaterials>,
    mut parts: Query<
        (
            &Part,
            &MadeOf,
            &mut Visibility,
            &mut MeshMaterial3d<PartMaterial>,
        ),
        Without<super::distributor::Spark>,
    >,
) {
    for (part, made_of, mut visibility, mut material) in &mut parts {
        let how = shown.of(part.kind);
        let hidden = how == As::Hidden || made_of.0 == metals.ghost && !ghosts.shown;
        let wanted = if hidden {
            Visibility::Hidden
        } else {
            Visibility::Inherited
        };
        if *visibility != wanted {
            *visibility = wanted;
        }
        let of = if how == As::SeeThrough && made_of.0 == metals.opaque {
            &metals.see_through
        } else {
            &made_of.0
        };
        if material.0 != *of {
            material.0 = of.clone();
        }
    }
}

/// The part under the pointer.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct UnderPointer {
    /// What it is called.
    called: Option<String>,
    looked: Option<Looked>,
}

/// From where a part was last looked for: while none of this is another, the answer is the same.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Looked {
    pointer: Option<Vec2>,
    eye: Transform,
    turned_deg: f64,
    build: u32,
}

fn look_under_pointer(
    windows: Query<&Window, With<PrimaryWindow>>,
    eyes: Query<(&Camera, &GlobalTransform), With<PanOrbitCamera>>,
    buttons: Res<ButtonInput<MouseButton>>,
    middle: Res<EngineViewport>,
    bench: Res<Bench>,
    names: Names,
    mut rays: MeshRayCast,
    mut under: ResMut<UnderPointer>,
) {
    let Ok((camera, eye)) = eyes.single() else {
        return;
    };
    // What moves past the pointer is not named: only once it stands still.
    let moves = under
        .looked
        .is_some_and(|looked| looked.turned_deg != bench.turned_deg());
    let busy = moves || buttons.any_pressed([MouseButton::Left, MouseButton::Right]);
    let pointer = middle.pointer().filter(|_| !busy);
    let looked = Looked {
        pointer,
        eye: eye.compute_transform(),
        turned_deg: bench.turned_deg(),
        build: bench.build(),
    };
    if under.looked == Some(looked) {
        return;
    }
    let called = pointer.and_then(|_| {
        let ray = camera
            .viewport_to_world(eye, windows.single().ok()?.cursor_position()?)
            .ok()?;
        part_along(ray, &mut rays, &names).map(|(called, _)| called.0.clone())
    });
    *under = UnderPointer {
        called,
        looked: Some(looked),
    };
}

/// What the first part along a ray is asked for.
pub type Names<'w, 's> = Query<'w, 's, (&'static PartName, &'static Part, Has<Glass>)>;

/// The first part along a ray, its name and what it is; one of glass only where nothing stands
/// behind it.
pub fn part_along<'a>(
    ray: Ray3d,
    rays: &mut MeshRayCast<'_, '_>,
    names: &'a Names<'_, '_>,
) -> Option<(&'a PartName, &'a Part)> {
    let mut first = |glass: bool| {
        let looked_for = |entity: Entity| {
            names
                .get(entity)
                .is_ok_and(|(.., is_glass)| is_glass == glass)
        };
        let settings = MeshRayCastSettings::default()
            .with_visibility(RayCastVisibility::Visible)
            .with_filter(&looked_for);
        rays.cast_ray(ray, &settings)
            .first()
            .map(|(entity, _)| *entity)
    };
    let entity = first(false).or_else(|| first(true))?;
    names
        .get(entity)
        .ok()
        .map(|(called, part, _)| (called, part))
}

/// Set views in the corner of the engine's room, and the name of what is under the pointer beside
/// it.
fn over_the_engine(
    mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>,
    middle: Res<EngineViewport>,
    bench: Res<Bench>,
    under: Res<UnderPointer>,
    mut looks: MessageWriter<SetView>,
) {
    let (Ok(mut context), Some(room)) = (contexts.single_mut(), middle.rect()) else {
        return;
    };
    let ctx = context.get_mut();
    egui::Area::new("set views".into())
        .fixed_pos(room.left_top() + egui::vec2(8.0, 8.0))
        .order(egui::Order::Middle)
        .show(ctx, |ui| {
            ui.set_max_width(room.width() - 16.0);
            ui.horizontal_wrapped(|ui| {
                for (look, key) in SetView::ALL.into_iter().zip(SetView::KEYS) {
                    if look.is_there(bench.layout())
                        && ui
                            .button(look.word())
                            .on_hover_text(format!("{key:?}"))
                            .clicked()
                    {
                        looks.write(look);
                    }
                }
            });
        });
    if let (Some(called), Some(at)) = (&under.called, ctx.input(|input| input.pointer.hover_pos()))
    {
        let (place, pivot) = (at + egui::vec2(14.0, 14.0), Align2::LEFT_TOP);
        egui::Area::new("part's name".into())
            .fixed_pos(place)
            .pivot(pivot)
            .constrain_to(room)
            .interactable(false)
            .order(egui::Order::Tooltip)
            .show(ctx, |ui| {
                let name = egui::Label::new(called).wrap_mode(egui::TextWrapMode::Extend);
                egui::Frame::popup(ui.style()).show(ui, |ui| ui.add(name));
            });
    }
}

fn pane(ui: &mut Ui, world: &mut World) {
    let mut shown = world.resource::<Shown>().clone();
    let mut shadows = *world.resource::<Shadows>();
    list(ui, &mut shown, &mut shadows);
    world.resource_mut::<Shown>().set_if_neq(shown);
    world.resource_mut::<Shadows>().set_if_neq(shadows);
    ui.separator();
    ui.label("Turn the engine: drag the pulley, the wheel (with Shift faster), the arrow keys (1°, Shift 10°, Ctrl 0.1°), Page Up and Page Down from dead centre to dead centre, Space to run.");
    ui.label("Move the eye: drag to go round, right button to shift, Ctrl and wheel to come nearer, F1 to F5 for the set views.");
}

/// The kinds of part, each with how it is shown.
fn list(ui: &mut Ui, shown: &mut Shown, shadows: &mut Shadows) {
    ui.label("What is shown of the engine:");
    egui::Grid::new("kinds of part")
        .num_columns(3)
        .striped(true)
        .show(ui, |ui| {
            for kind in PartKind::ALL {
                ui.label(kind.word());
                ui.horizontal(|ui| {
                    let mut how = shown.of(kind);
                    for (each, word) in [
                        (As::Whole, "Shown"),
                        (As::SeeThrough, "See-through"),
                        (As::Hidden, "Hidden"),
                    ] {
                        ui.selectable_value(&mut how, each, word);
                    }
                    shown.set(kind, how);
                });
                if ui
                    .small_button("Alone")
                    .on_hover_text(format!("{} alone; again for all", kind.word()))
                    .clicked()
                {
                    shown.alone(kind);
                }
                ui.end_row();
            }
        });
    ui.checkbox(&mut shown.cut_away, "Cylinders cut open");
    ui.checkbox(&mut shadows.thrown, "Shadows").on_hover_text(
        "Parts throw shadows on one another. Without a graphics card it draws more slowly",
    );
    if ui.button("Show everything").clicked() {
        *shown = Shown::default();
    }
    ui.label(RichText::new("Valves lift as much as on the engine, drawn to the same scale as all else. Sizes not in the description are drawn in proportion: never measure from the picture.").weak());
}

#[cfg(test)]
mod tests {
    use bevy::ecs::system::RunSystemOnce;
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;
    use glam::DVec3;

    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes::BENCH;
    use crate::window::app;
    use crate::window::app::{off_screen, renderer};
    use crate::window::scene::mesh::unit;

    #[test]
    fn a_part_alone_hides_the_others_and_alone_again_shows_all() {
        let mut harness = Harness::new_ui_state(
            |ui, shown: &mut Shown| list(ui, shown, &mut Shadows { thrown: false }),
            Shown::default(),
        );
        harness
            .get_all_by_label("Alone")
            .next()
            .expect("a button for the crankshaft")
            .click();
        harness.run();
        assert_eq!(harness.state().of(PartKind::Crankshaft), As::Whole);
        assert_eq!(harness.state().of(PartKind::Pistons), As::Hidden);
        harness
            .get_all_by_label("Alone")
            .next()
            .expect("a button for the crankshaft")
            .click();
        harness.run();
        assert_eq!(harness.state(), &Shown::default());
    }

    #[test]
    fn what_stands_behind_glass_is_named_and_the_glass_where_nothing_does() {
        let adapter =
            renderer::adapter().expect("something to draw with (Debian: mesa-vulkan-drivers)");
        let mut app = off_screen::app(adapter, UVec2::new(64, 64));
        app.insert_resource(Bench::new(&BENCH.engine(), &Assembly::default()))
            .add_plugins(crate::window::scene::plugin);
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
                    .map(|(called, part)| (called.0.clone(), part.cylinder))
            };
            app.world_mut().run_system_once(look).expect("run")
        };
        assert_eq!(named(from(gudgeon.y)), Some(("Piston 2".to_owned(), 2)));
        assert_eq!(named(from(over_it)), Some(("Cylinder 2".to_owned(), 2)));
        assert_eq!(named(from(5000.0)), None);
    }
}
