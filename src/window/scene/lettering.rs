//! Letters as meshes: the numbers on cylinders and towers, always facing the camera.
//!
//! They are meshes, and not painted over the picture, so that pictures drawn without a window have
//! them too.

use bevy::prelude::*;
use glam::{DVec2, DVec3};
use lyon_tessellation::geom::point;
use lyon_tessellation::path::Path;
use lyon_tessellation::{BuffersBuilder, FillOptions, FillTessellator, FillVertex, VertexBuffers};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, MetadataProvider as _};

use super::distributor::{LiftsOut, on_cap};
use super::materials::{Colour, MARK, MARK_GROUND};
use super::mesh::{PartMesh, unit};
use super::part::{PartKind, PartSpawner};
use crate::geometry::layout::{DistributorPlace, ValveTrain, towards};
use crate::output::fonts;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::generation_changed;

/// Numbers on cylinders and towers.
pub(crate) struct LetteringPlugin;

impl Plugin for LetteringPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(PostUpdate, face_camera.before(TransformSystems::Propagate));
    }
}

/// Letters that are kept facing the camera.
#[derive(Component)]
struct FacesCamera;

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let glow = spawner.materials.glow.clone();
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
        let place = (towards(cylinder.bank_deg) * up).extend(cylinder.z_mm);
        let mesh = spawner.mesh(badge(&cylinder.number.to_string(), size));
        let name = format!("Cylinder {}", cylinder.number);
        spawner
            .spawn_of(
                PartKind::Cylinders,
                cylinder.number,
                name,
                mesh,
                glow.clone(),
            )
            .insert((FacesCamera, Transform::from_translation(unit(place))));
    }
    if let Some(distributor) = &layout.distributor {
        spawn_on_towers(&mut spawner, distributor);
    }
}

fn spawn_on_towers(spawner: &mut PartSpawner, distributor: &DistributorPlace) {
    let glow = spawner.materials.glow.clone();
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
        distributor.radius_mm * 0.34,
        distributor.radius_mm * step * 0.5,
    );
    for (tower, number) in towers {
        let place = on_cap(
            distributor,
            tower,
            distributor.radius_mm * 1.16,
            distributor.radius_mm * 0.8,
        );
        let mesh = spawner.mesh(badge(&number.to_string(), size));
        let name = format!("Tower with the lead of No. {number}");
        spawner
            .spawn_of(PartKind::Distributor, number, name, mesh, glow.clone())
            .insert((
                FacesCamera,
                LiftsOut(unit(place)),
                Transform::from_translation(unit(place)),
            ));
    }
}

fn face_camera(
    cameras: Query<&Transform, (With<Camera3d>, Without<FacesCamera>)>,
    mut letters: Query<&mut Transform, With<FacesCamera>>,
) {
    let Some(camera) = cameras.iter().next() else {
        return;
    };
    for mut letter in &mut letters {
        if letter.rotation != camera.rotation {
            letter.rotation = camera.rotation;
        }
    }
}

/// A text on a dark disc, about its middle.
fn badge(text: &str, size: f64) -> PartMesh {
    let mut mesh = PartMesh::new(MARK_GROUND);
    let wide = fonts::width(text, true) * size;
    let radius = f64::max(size * 0.62, wide * 0.62);
    // Smoother than other rounds: it is seen from near, and there are few.
    let round: Vec<DVec2> = (0..40)
        .map(|step| towards(9.0 * f64::from(step)) * radius)
        .collect();
    mesh.prism(&round, &[], (0.0, size * 0.01));
    write(
        &mut mesh,
        text,
        size,
        DVec3::new(-wide / 2.0, -size * 0.36, size * 0.05),
        MARK,
    );
    mesh
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
