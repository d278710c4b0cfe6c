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

/// A colour in a mesh: linear red, green, blue and cover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Colour(pub [f32; 4]);

impl Default for Colour {
    fn default() -> Self {
        STEEL
    }
}

const fn linear(red: f32, green: f32, blue: f32) -> Colour {
    Colour([red, green, blue, 1.0])
}

pub(crate) const STEEL: Colour = linear(0.36, 0.38, 0.41);
pub(crate) const FORGED: Colour = linear(0.22, 0.24, 0.27);
pub(crate) const BRIGHT: Colour = linear(0.62, 0.64, 0.67);
pub(crate) const ALLOY: Colour = linear(0.55, 0.54, 0.52);
pub(crate) const DARK: Colour = linear(0.07, 0.07, 0.08);
pub(crate) const CAM: Colour = linear(0.42, 0.33, 0.22);
pub(crate) const CRANK_WHEEL: Colour = linear(0.46, 0.40, 0.26);
pub(crate) const CAM_WHEEL: Colour = linear(0.50, 0.45, 0.33);
pub(crate) const IDLER: Colour = linear(0.40, 0.40, 0.36);
/// Intake valves, as everywhere in the window.
pub(crate) const INTAKE: Colour = linear(0.02, 0.20, 0.52);
pub(crate) const EXHAUST: Colour = linear(0.45, 0.07, 0.24);
pub(crate) const GEAR: Colour = linear(0.48, 0.49, 0.50);
pub(crate) const MARK: Colour = linear(0.95, 0.95, 0.90);
/// What a timing mark or a number is set on.
pub(crate) const MARK_GROUND: Colour = linear(0.03, 0.03, 0.03);
pub(crate) const POINTER: Colour = linear(0.80, 0.10, 0.06);
pub(crate) const PULLEY: Colour = linear(0.13, 0.15, 0.18);
pub(crate) const ROTOR: Colour = linear(0.30, 0.13, 0.05);
pub(crate) const BRASS: Colour = linear(0.66, 0.46, 0.14);
pub(crate) const BODY: Colour = linear(0.30, 0.32, 0.34);
pub(crate) const TOWER: Colour = linear(0.20, 0.07, 0.04);
pub(crate) const SPARK: Colour = linear(1.0, 0.85, 0.25);

/// What the shader does with a mesh's own colours. Much simpler than bevy's own material, which
/// costs a second a frame where the processor draws.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
#[bind_group_data(PartMaterialKey)]
pub(crate) struct PartMaterial {
    #[uniform(0)]
    finish: Finish,
    clear: bool,
    takes_shadows: bool,
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
}

impl From<&PartMaterial> for PartMaterialKey {
    fn from(material: &PartMaterial) -> Self {
        Self {
            clear: material.clear,
            takes_shadows: material.takes_shadows,
        }
    }
}

/// The direction the key light comes from, as in the shader: above, the front and the left.
pub(crate) const KEY_LIGHT_FROM: Vec3 = Vec3::new(-0.398, 0.696, 0.597);

/// The shader: part of the program.
const SHADER: Handle<Shader> = uuid_handle!("6f1c7b0e-55a3-4f0c-9a0e-0d2f5a3c8e11");

impl Material for PartMaterial {
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }

    fn alpha_mode(&self) -> AlphaMode {
        if self.clear {
            AlphaMode::Blend
        } else {
            AlphaMode::Opaque
        }
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
        if let (true, Some(fragment)) =
            (key.bind_group_data.takes_shadows, &mut descriptor.fragment)
        {
            fragment.shader_defs.push("TAKES_SHADOWS".into());
        }
        Ok(())
    }
}

#[derive(Resource, Debug)]
pub(crate) struct PartMaterials {
    pub(crate) opaque: Handle<PartMaterial>,
    pub(crate) glass: Handle<PartMaterial>,
    /// Parts made see-through by the user.
    pub(crate) see_through: Handle<PartMaterial>,
    /// Parts as drawn, beside parts as built.
    pub(crate) ghost: Handle<PartMaterial>,
    /// Sparks and letters: lit from within.
    pub(crate) glow: Handle<PartMaterial>,
    /// The shade under the engine.
    pub(crate) shade: Handle<PartMaterial>,
}

impl PartMaterials {
    /// Chooses whether the materials show the shadows that fall on them.
    pub(crate) fn set_shadows(&self, assets: &mut Assets<PartMaterial>, shown: bool) {
        for material in [&self.opaque, &self.see_through] {
            if assets
                .get(material)
                .is_some_and(|finish| finish.takes_shadows != shown)
                && let Some(mut finish) = assets.get_mut(material)
            {
                finish.takes_shadows = shown;
            }
        }
    }
}

impl FromWorld for PartMaterials {
    fn from_world(world: &mut World) -> Self {
        let mut materials = world.resource_mut::<Assets<PartMaterial>>();
        let mut of = |tint: [f32; 4], glow: f32, glass: f32| {
            let finish = Finish {
                tint: Vec4::from_array(tint),
                manner: Vec4::new(glow, glass, 0.0, 0.0),
            };
            materials.add(PartMaterial {
                finish,
                clear: tint[3] < 1.0,
                takes_shadows: false,
            })
        };
        Self {
            opaque: of([1.0; 4], 0.0, 0.0),
            glass: of([0.62, 0.78, 0.92, 0.34], 0.3, 1.0),
            see_through: of([1.0, 1.0, 1.0, 0.28], 0.0, 0.0),
            ghost: of([0.36, 0.24, 0.66, 0.62], 1.0, 0.0),
            glow: of([1.0; 4], 1.0, 0.0),
            // Just under 1, so that it is drawn as transparent.
            shade: of([1.0, 1.0, 1.0, 0.999], 1.0, 0.0),
        }
    }
}

/// The material and its shader.
pub(crate) struct MaterialsPlugin;

impl Plugin for MaterialsPlugin {
    fn build(&self, app: &mut App) {
        load_internal_asset!(app, SHADER, "materials.wgsl", Shader::from_wgsl);
        app.add_plugins(MaterialPlugin::<PartMaterial>::default());
        app.init_resource::<PartMaterials>();
    }
}
