//! Letters as meshes: the numbers on cylinders and towers, always facing the camera, drawn last and
//! kept apart from one another.
//!
//! They are meshes, and not painted over the picture, so that pictures drawn without a window have
//! them too. A cylinder's number stands on a round ground, a lead's on a square one.

use bevy::prelude::*;
use bevy_panorbit_camera::PanOrbitCameraSystemSet;
use glam::{DVec2, DVec3};
use lyon_tessellation::geom::point;
use lyon_tessellation::path::Path;
use lyon_tessellation::{BuffersBuilder, FillOptions, FillTessellator, FillVertex, VertexBuffers};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, MetadataProvider as _};

use super::distributor::on_cap;
use super::materials::{Colour, LEAD_GROUND, MARK, MARK_GROUND};
use super::mesh::PartMesh;
use super::part::{PartKind, PartSpawner};
use super::parts_shown::FROM_THE_FRONT;
use super::units::{length, unit};
use crate::geometry::framing::kept_apart;
use crate::geometry::layout::{DistributorPlace, ValveTrain, towards};
use crate::output::fonts;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

/// Numbers on cylinders and towers.
pub(crate) struct LetteringPlugin;

impl Plugin for LetteringPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(
            PostUpdate,
            place
                .after(PanOrbitCameraSystemSet)
                .before(TransformSystems::Propagate),
        );
    }
}

/// A number on its ground, kept facing the camera.
#[derive(Component)]
struct Badge {
    /// What it stands at.
    at: Vec3,
    /// Half its side, as it is drawn.
    half: f32,
    /// Whether it is lifted out with the distributor.
    lifts_out: bool,
}

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let letters = spawner.materials.letters.clone();
    let size = 0.34 * layout.measures.bore_mm;
    for cylinder in &layout.cylinders {
        let over_cam = layout.cams.get(cylinder.intake.cam).map_or(0.0, |cam| {
            cam.centre.length() + layout.intake_lobe.nose_radius_mm()
        });
        let gear = if layout.train == ValveTrain::Overhead {
            over_cam
        } else {
            layout.measures.stem_mm + 0.2 * layout.measures.bore_mm
        };
        let up = gear + 0.35 * layout.measures.bore_mm;
        let at = unit((towards(cylinder.bank_deg) * up).extend(cylinder.z_mm));
        let (mesh, half_mm) = badge(&cylinder.number.to_string(), size, Ground::Round);
        let mesh = spawner.mesh(mesh);
        let name = format!("Cylinder {}", cylinder.number);
        spawner
            .spawn_of(
                PartKind::Cylinders,
                cylinder.number,
                name,
                mesh,
                letters.clone(),
            )
            .insert(Badge {
                at,
                half: length(half_mm),
                lifts_out: false,
            });
    }
    if let Some(distributor) = &layout.distributor {
        spawn_on_towers(&mut spawner, distributor);
    }
}

fn spawn_on_towers(spawner: &mut PartSpawner, distributor: &DistributorPlace) {
    let letters = spawner.materials.letters.clone();
    let phasing = spawner.bench.phasing();
    let all = phasing.towers();
    let plugged = spawner.bench.plugged();
    let towers = all.iter().map(|tower| tower.degrees()).zip(plugged);
    // A tower without a lead has no number.
    let towers: Vec<(f64, u8)> = towers
        .filter_map(|(tower, lead)| Some((tower, lead?)))
        .collect();
    let step = std::f64::consts::TAU / all.len().max(1) as f64;
    let size = f64::min(
        distributor.radius_mm * 0.32,
        distributor.radius_mm * step * 0.5,
    );
    for (tower, number) in towers {
        let at = unit(on_cap(
            distributor,
            tower,
            distributor.radius_mm * 1.16,
            distributor.radius_mm * 0.8,
        ));
        let (mesh, half_mm) = badge(&number.to_string(), size, Ground::Square);
        let mesh = spawner.mesh(mesh);
        let name = format!("Tower with the lead of No. {number}");
        spawner
            .spawn_of(PartKind::Distributor, number, name, mesh, letters.clone())
            .insert(Badge {
                at,
                half: length(half_mm),
                lifts_out: true,
            });
    }
}

/// Places the badges where they are seen beside what they name: facing the camera, none so small
/// that it is not read, and none over another.
fn place(
    bench: Res<Bench>,
    cameras: Query<(&Transform, &Projection), Without<Badge>>,
    mut badges: Query<(&mut Transform, &Visibility, &Badge)>,
    mut seen: Local<Vec<(DVec2, f64)>>,
) {
    /// Half the side of the smallest and the largest badge, over half the picture's height.
    const SIZES: (f32, f32) = (0.03, 0.075);
    // The panels' camera has no perspective.
    let seen_from = cameras
        .iter()
        .find_map(|(camera, projection)| match projection {
            Projection::Perspective(view) => Some((camera, view)),
            _ => None,
        });
    let Some((camera, view)) = seen_from else {
        return;
    };
    let (half_up, to_camera) = ((view.fov / 2.0).tan(), camera.rotation.inverse());
    let up = Vec3::Y * length(bench.lifted_mm());
    let from_camera = |badge: &Badge| {
        let at = badge.at + if badge.lifts_out { up } else { Vec3::ZERO };
        to_camera * (at - camera.translation)
    };
    // Straight from the front a cap is seen edge on, its towers before one another: numbers there
    // would name nothing that can be told apart.
    let along_the_shaft = camera.back().z > FROM_THE_FRONT;
    let shown = |visibility: &Visibility, badge: &Badge| {
        *visibility != Visibility::Hidden && !(badge.lifts_out && along_the_shaft)
    };
    let scale = |badge: &Badge, away: f32| {
        let whole_picture = half_up * away;
        let half = badge
            .half
            .clamp(SIZES.0 * whole_picture, SIZES.1 * whole_picture);
        half / badge.half
    };
    seen.clear();
    for (_, visibility, badge) in &badges {
        let at = from_camera(badge);
        let away = f32::max(-at.z, view.near);
        if shown(visibility, badge) {
            seen.push((
                (at.truncate() / away).as_dvec2(),
                f64::from(badge.half * scale(badge, away) / away),
            ));
        }
    }
    let corner = DVec2::new(f64::from(view.aspect_ratio), 1.0) * f64::from(half_up);
    kept_apart(&mut seen, corner);
    let mut kept = seen.iter();
    for (mut transform, visibility, badge) in &mut badges {
        if !shown(visibility, badge) {
            transform.scale = Vec3::ZERO;
            continue;
        }
        let Some((at, _)) = kept.next() else { return };
        let away = f32::max(-from_camera(badge).z, view.near);
        let wanted = Transform {
            translation: camera.translation + camera.rotation * (at.as_vec2() * away).extend(-away),
            rotation: camera.rotation,
            scale: Vec3::splat(scale(badge, away)),
        };
        if *transform != wanted {
            *transform = wanted;
        }
    }
}

/// What a number stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ground {
    /// A cylinder's number.
    Round,
    /// The number of a lead.
    Square,
}

/// A text on its ground, about its middle, and half the ground's side.
fn badge(text: &str, size: f64, ground: Ground) -> (PartMesh, f64) {
    let wide = fonts::width(text, true) * size;
    let half = f64::max(size * 0.62, wide * 0.62);
    let (colour, outline): (Colour, Vec<DVec2>) = match ground {
        // Smoother than other rounds: it is seen from near, and there are few.
        Ground::Round => (
            MARK_GROUND,
            (0..40)
                .map(|step| towards(9.0 * f64::from(step)) * half)
                .collect(),
        ),
        Ground::Square => {
            let side = half * 0.86;
            let corners = [(-1.0, -1.0), (-1.0, 1.0), (1.0, 1.0), (1.0, -1.0)];
            let at = corners.map(|(x, y)| DVec2::new(x, y) * side);
            (LEAD_GROUND, at.to_vec())
        }
    };
    let mut mesh = PartMesh::new(colour);
    mesh.prism(&outline, &[], (0.0, size * 0.01));
    write(
        &mut mesh,
        text,
        size,
        DVec3::new(-wide / 2.0, -size * 0.36, size * 0.05),
        MARK,
    );
    (mesh, half)
}

/// Writes a line of text; `from` is the left end of its baseline.
fn write(mesh: &mut PartMesh, text: &str, size: f64, from: DVec3, colour: Colour) {
    let Ok(font) = FontRef::new(fonts::BOLD) else {
        return;
    };
    let (unscaled, upright) = (Size::unscaled(), LocationRef::default());
    let scale = size / f64::from(font.metrics(unscaled, upright).units_per_em);
    let (glyphs, outlines) = (font.charmap(), font.outline_glyphs());
    let mut pen = 0.0;
    mesh.colour(colour).to(from);
    for character in text.chars() {
        let Some(glyph) = glyphs.map(character) else {
            continue;
        };
        let mut outline = Outline {
            path: Path::svg_builder(),
            scale,
            pen,
        };
        let settings = DrawSettings::unhinted(unscaled, upright);
        let drawn = outlines
            .get(glyph)
            .is_some_and(|glyph| glyph.draw(settings, &mut outline).is_ok());
        let mut flat: VertexBuffers<DVec2, u32> = VertexBuffers::new();
        let corners = &mut BuffersBuilder::new(&mut flat, |vertex: FillVertex<'_>| {
            DVec2::new(
                f64::from(vertex.position().x),
                f64::from(vertex.position().y),
            )
        });
        let options = FillOptions::non_zero().with_tolerance(size as f32 * 0.01);
        if drawn
            && FillTessellator::new()
                .tessellate_path(&outline.path.build(), &options, corners)
                .is_ok()
        {
            mesh.triangles(&flat.vertices, &flat.indices);
        }
        pen += fonts::width(character.encode_utf8(&mut [0; 4]), true) * size;
    }
}

struct Outline {
    path: lyon_tessellation::path::builder::WithSvg<lyon_tessellation::path::path::BuilderImpl>,
    scale: f64,
    pen: f64,
}

impl Outline {
    fn at(&self, x: f32, y: f32) -> lyon_tessellation::math::Point {
        point(
            (f64::from(x) * self.scale + self.pen) as f32,
            (f64::from(y) * self.scale) as f32,
        )
    }
}

impl OutlinePen for Outline {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(self.at(x, y));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.at(x, y));
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path
            .quadratic_bezier_to(self.at(x1, y1), self.at(x, y));
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path
            .cubic_bezier_to(self.at(x1, y1), self.at(x2, y2), self.at(x, y));
    }
    fn close(&mut self) {
        self.path.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes::SCENES;
    use crate::window::app::{off_screen, renderer};
    use crate::window::scene;
    use crate::window::scene::camera::{SetView, camera_bundle};

    #[test]
    fn no_number_stands_over_another_from_any_view_and_all_are_in_a_picture_of_the_whole() {
        let mut rows = 0;
        for name in ["bench_four", "flat_six", "vee_eight", "twin_cam_four"] {
            let scene = SCENES
                .iter()
                .find(|scene| scene.name == name)
                .expect("a scene");
            let adapter =
                renderer::adapter().expect("something to draw with (Debian: mesa-vulkan-drivers)");
            let mut app = off_screen::app(adapter, UVec2::new(64, 64));
            app.insert_resource(Bench::new(&scene.engine(), &Assembly::default()))
                .add_plugins(scene::plugin);
            off_screen::ready(&mut app);
            let layout = app.world().resource::<Bench>().layout().clone();
            let target = app.world().resource::<off_screen::Canvas>().target();
            let camera = app.world_mut().spawn((camera_bundle(true), target)).id();
            for view in SetView::ALL {
                let from = view.pose(&layout, 1.0, 0.0).transform();
                app.world_mut().entity_mut(camera).insert(from);
                (0..2).for_each(|_| off_screen::step(&mut app));
                let seen: Vec<(Vec2, f32)> = app
                    .world_mut()
                    .query::<(&Transform, &Badge)>()
                    .iter(app.world())
                    .filter(|(place, _)| place.scale.x > 0.0)
                    .map(|(place, badge)| {
                        let at = from.rotation.inverse() * (place.translation - from.translation);
                        (at.truncate() / -at.z, badge.half * place.scale.x / -at.z)
                    })
                    .collect();
                assert!(seen.len() >= layout.cylinders.len(), "{name}");
                for (index, (one, half)) in seen.iter().enumerate() {
                    let whole = !matches!(view, SetView::Cap | SetView::Drive);
                    let off = one.abs().max_element() + half;
                    assert!(!whole || off < 0.2132, "{name}, {view:?}: {off}");
                    for (other, other_half) in &seen[index + 1..] {
                        let apart = one.distance(*other) / (half + other_half);
                        assert!(apart > 0.98, "{name}, {view:?}: {apart}");
                        rows += 1;
                    }
                }
            }
        }
        assert!(rows > 1000, "{rows} pairs were looked at");
    }
}
