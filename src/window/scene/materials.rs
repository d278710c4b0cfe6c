//! The materials of the parts: one opaque material, whose colour is in the mesh, glass for
//! cylinders and cap, and a ghost for parts as drawn beside parts as built.

use bevy::asset::{load_internal_asset, uuid_handle};
use bevy::mesh::MeshVertexBufferLayoutRef;
use bevy::pbr::{MaterialPipeline, MaterialPipelineKey};
use bevy::prelude::*;
use bevy::reflect::TypePath;
use bevy::render::render_resource::{
    AsBindGroup, RenderPipelineDescriptor, ShaderType, SpecializedMeshPipelineError,
};
use bevy::shader::ShaderRef;

use super::units::length;
use crate::window::app::egui_setup::WindowTheme;
use crate::window::app::theme::ColourScheme;
use crate::window::session::bench::{Bench, generation_changed};

/// A colour in a mesh: linear red, green and blue, and a fourth number.
///
/// Of a lit part that is its gloss: 0 for what is dull, 1 for what is polished; [`PAINT`] for paint,
/// which stays whole where its part is seen through; and under 0, the gloss of a colour that is
/// hatched in high contrast. Of glass, and of the shade under the engine, it is the cover, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Colour(pub [f32; 4]);

impl Default for Colour {
    fn default() -> Self {
        STEEL
    }
}

/// The fourth number of paint.
const PAINT: f32 = 2.0;

const fn metal(red: f32, green: f32, blue: f32, gloss: f32) -> Colour {
    Colour([red, green, blue, gloss])
}

const fn paint(red: f32, green: f32, blue: f32) -> Colour {
    Colour([red, green, blue, PAINT])
}

/// Turned steel: shafts, bolts.
pub(crate) const STEEL: Colour = metal(0.25, 0.275, 0.315, 0.6);
/// Forged steel as it left the hammer: webs, the flywheel.
pub(crate) const FORGED: Colour = metal(0.085, 0.1, 0.13, 0.3);
/// Forged steel, peened: rods.
pub(crate) const ROD: Colour = metal(0.33, 0.28, 0.23, 0.28);
/// Cast iron: rockers, blocks.
pub(crate) const IRON: Colour = metal(0.125, 0.11, 0.1, 0.22);
/// Ground steel: crankpins, gudgeon pins, push rods.
pub(crate) const BRIGHT: Colour = metal(0.46, 0.485, 0.52, 0.9);
/// Cast alloy: pistons, housings.
pub(crate) const ALLOY: Colour = metal(0.5, 0.495, 0.475, 0.3);
pub(crate) const DARK: Colour = metal(0.04, 0.04, 0.045, 0.15);
pub(crate) const CAM: Colour = metal(0.31, 0.24, 0.16, 0.5);
pub(crate) const CRANK_WHEEL: Colour = metal(0.36, 0.29, 0.16, 0.5);
pub(crate) const CAM_WHEEL: Colour = metal(0.38, 0.335, 0.235, 0.5);
pub(crate) const IDLER: Colour = metal(0.3, 0.3, 0.265, 0.5);
/// Intake valves, as everywhere in the window.
pub(crate) const INTAKE: Colour = metal(0.018, 0.17, 0.45, 0.4);
/// Exhaust valves, as everywhere in the window; hatched in high contrast.
pub(crate) const EXHAUST: Colour = metal(0.39, 0.055, 0.2, -0.6);
/// Hardened steel: followers.
pub(crate) const GEAR: Colour = metal(0.23, 0.22, 0.19, 0.55);
pub(crate) const MARK: Colour = paint(0.95, 0.95, 0.90);
/// What a timing mark or a number is set on.
pub(crate) const MARK_GROUND: Colour = paint(0.03, 0.03, 0.03);
/// What a lead's number is set on.
pub(crate) const LEAD_GROUND: Colour = paint(0.17, 0.035, 0.02);
pub(crate) const POINTER: Colour = paint(0.80, 0.10, 0.06);
pub(crate) const PULLEY: Colour = metal(0.075, 0.09, 0.115, 0.35);
pub(crate) const ROTOR: Colour = metal(0.25, 0.105, 0.04, 0.2);
/// Bronze and brass.
pub(crate) const BRASS: Colour = metal(0.5, 0.32, 0.085, 0.7);
pub(crate) const BODY: Colour = metal(0.25, 0.265, 0.28, 0.4);
pub(crate) const TOWER: Colour = metal(0.16, 0.05, 0.028, 0.25);
pub(crate) const SPARK: Colour = paint(1.0, 0.85, 0.25);

/// How the shader draws a material, as it counts them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Manner {
    /// Metal and paint, in the light.
    Lit = 0,
    /// Glass.
    Glass = 1,
    /// The mesh's own colours, whatever the light.
    Flat = 2,
}

/// What the shader does with a mesh's own colours. Much simpler than bevy's own material, which
/// costs a second a frame where the processor draws.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
#[bind_group_data(PartMaterialKey)]
pub(crate) struct PartMaterial {
    #[uniform(0)]
    finish: Finish,
    key: PartMaterialKey,
    over_everything: bool,
}

#[derive(Clone, Copy, Debug, ShaderType)]
struct Finish {
    tint: Vec4,
    manner: Vec4,
}

/// What needs a pipeline of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(C)]
pub(crate) struct PartMaterialKey {
    clear: bool,
    takes_shadows: bool,
    high_contrast: bool,
}

impl From<&PartMaterial> for PartMaterialKey {
    fn from(material: &PartMaterial) -> Self {
        material.key
    }
}

/// The direction the key light comes from, as in the shader: above, the front and the left.
pub(crate) const KEY_LIGHT_FROM: Vec3 = Vec3::new(-0.398, 0.696, 0.597);

/// The shader: part of the program.
const SHADER: Handle<Shader> = uuid_handle!("6f1c7b0e-55a3-4f0c-9a0e-0d2f5a3c8e11");

impl Material for PartMaterial {
    fn vertex_shader() -> ShaderRef {
        SHADER.into()
    }

    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }

    fn alpha_mode(&self) -> AlphaMode {
        if self.key.clear {
            AlphaMode::Blend
        } else {
            AlphaMode::Opaque
        }
    }

    fn depth_bias(&self) -> f32 {
        /// Larger than any engine, in the window's units: it is drawn last.
        const LAST: f32 = 1e4;
        if self.over_everything { LAST } else { 0.0 }
    }

    fn enable_prepass() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _: &MeshVertexBufferLayoutRef,
        key: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        let key = key.bind_group_data;
        let defs = [
            ("TAKES_SHADOWS", key.takes_shadows),
            ("HIGH_CONTRAST", key.high_contrast),
        ];
        let defs = defs.iter().filter(|(_, wanted)| *wanted);
        let vertex = &mut descriptor.vertex.shader_defs;
        vertex.extend(defs.clone().map(|(name, _)| (*name).into()));
        if let Some(fragment) = &mut descriptor.fragment {
            fragment
                .shader_defs
                .extend(defs.map(|(name, _)| (*name).into()));
        }
        Ok(())
    }
}

#[derive(Resource, Debug)]
pub(crate) struct PartMaterials {
    pub(crate) opaque: Handle<PartMaterial>,
    pub(crate) glass: Handle<PartMaterial>,
    /// Parts seen through: made so by the user, or because they would hide what a view is for.
    pub(crate) see_through: Handle<PartMaterial>,
    /// Parts as drawn, beside parts as built.
    pub(crate) ghost: Handle<PartMaterial>,
    /// Sparks: lit from within.
    pub(crate) glow: Handle<PartMaterial>,
    /// Letters: drawn last, over everything.
    pub(crate) letters: Handle<PartMaterial>,
    /// The shade under the engine.
    pub(crate) shade: Handle<PartMaterial>,
}

impl PartMaterials {
    /// Chooses whether the materials show the shadows that fall on them.
    pub(crate) fn set_shadows(&self, assets: &mut Assets<PartMaterial>, shown: bool) {
        for material in [&self.opaque, &self.see_through] {
            set_key(assets, material.id(), |key| key.takes_shadows = shown);
        }
    }
}

/// Changes what a material's pipeline depends on; one that stays as it is is not prepared anew.
fn set_key(
    assets: &mut Assets<PartMaterial>,
    material: AssetId<PartMaterial>,
    change: impl Fn(&mut PartMaterialKey),
) {
    let Some(mut key) = assets.get(material).map(|finish| finish.key) else {
        return;
    };
    let before = key;
    change(&mut key);
    if key != before
        && let Some(mut finish) = assets.get_mut(material)
    {
        finish.key = key;
    }
}

impl FromWorld for PartMaterials {
    fn from_world(world: &mut World) -> Self {
        let mut materials = world.resource_mut::<Assets<PartMaterial>>();
        let mut of = |manner: Manner, tint: [f32; 4], mesh_covers: bool, over_everything: bool| {
            let flag = |set: bool| if set { 1.0 } else { 0.0 };
            let flags = Vec4::new(
                f32::from(manner as u8),
                flag(mesh_covers),
                flag(over_everything),
                1.0,
            );
            materials.add(PartMaterial {
                finish: Finish {
                    tint: Vec4::from_array(tint),
                    manner: flags,
                },
                key: PartMaterialKey {
                    clear: manner != Manner::Lit || tint[3] < 1.0,
                    takes_shadows: false,
                    high_contrast: false,
                },
                over_everything,
            })
        };
        Self {
            opaque: of(Manner::Lit, [1.0; 4], false, false),
            glass: of(Manner::Glass, [0.62, 0.78, 0.92, 0.42], true, false),
            see_through: of(Manner::Lit, [1.0, 1.0, 1.0, 0.28], false, false),
            ghost: of(Manner::Flat, [0.36, 0.24, 0.66, 0.62], false, false),
            glow: of(Manner::Flat, [1.0; 4], false, false),
            letters: of(Manner::Flat, [1.0; 4], false, true),
            shade: of(Manner::Flat, [1.0; 4], true, false),
        }
    }
}

/// Shades what lies deep in the engine on the bench: the more, the nearer it is to the crankshaft,
/// out to where the bores begin.
fn shade_the_depth(
    bench: Res<Bench>,
    materials: Res<PartMaterials>,
    mut assets: ResMut<Assets<PartMaterial>>,
) {
    let measures = &bench.layout().measures;
    let out = f32::max(length(measures.foot_mm), length(measures.throw_mm * 1.6));
    for material in [&materials.opaque, &materials.see_through] {
        if let Some(mut finish) = assets.get_mut(material) {
            finish.finish.manner.w = 1.0 / out;
        }
    }
}

/// Colour is never alone: in high contrast the model has outlines, two tones, and hatching on what
/// belongs to exhaust valves.
fn follow_theme(
    theme: Res<WindowTheme>,
    materials: Res<PartMaterials>,
    mut assets: ResMut<Assets<PartMaterial>>,
) {
    let high_contrast = theme.0.colours == ColourScheme::HighContrast;
    for material in [&materials.opaque, &materials.see_through, &materials.glass] {
        set_key(&mut assets, material.id(), |key| {
            key.high_contrast = high_contrast;
        });
    }
}

/// The material and its shader.
pub(crate) struct MaterialsPlugin;

impl Plugin for MaterialsPlugin {
    fn build(&self, app: &mut App) {
        load_internal_asset!(app, SHADER, "materials.wgsl", Shader::from_wgsl);
        app.add_plugins(MaterialPlugin::<PartMaterial>::default());
        app.init_resource::<PartMaterials>();
        app.add_systems(
            Update,
            (
                follow_theme.run_if(resource_exists_and_changed::<WindowTheme>),
                shade_the_depth.run_if(generation_changed),
            ),
        );
    }
}
