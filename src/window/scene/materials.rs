//! What the parts are made of, for the eye: one opaque material for all metals, whose colour stands
//! in the mesh, glass for cylinders and cap, and the pale stuff of parts as drawn beside parts as
//! built.

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
pub struct Colour(pub [f32; 4]);

impl Default for Colour {
    fn default() -> Self {
        STEEL
    }
}

const fn linear(red: f32, green: f32, blue: f32) -> Colour {
    Colour([red, green, blue, 1.0])
}

/// Crankshaft, rods, gears.
pub const STEEL: Colour = linear(0.36, 0.38, 0.41);
/// Webs, counterweights.
pub const FORGED: Colour = linear(0.22, 0.24, 0.27);
/// Bearings' faces, pins.
pub const BRIGHT: Colour = linear(0.62, 0.64, 0.67);
/// Pistons.
pub const ALLOY: Colour = linear(0.55, 0.54, 0.52);
/// Rings, chains.
pub const DARK: Colour = linear(0.07, 0.07, 0.08);
/// The camshaft.
pub const CAM: Colour = linear(0.42, 0.33, 0.22);
/// Cam drive: the crank's wheel.
pub const CRANK_WHEEL: Colour = linear(0.46, 0.40, 0.26);
/// Cam drive: the camshaft's wheel.
pub const CAM_WHEEL: Colour = linear(0.50, 0.45, 0.33);
/// Idlers.
pub const IDLER: Colour = linear(0.40, 0.40, 0.36);
/// Intake valves, as everywhere in the window.
pub const INTAKE: Colour = linear(0.02, 0.20, 0.52);
/// Exhaust valves.
pub const EXHAUST: Colour = linear(0.45, 0.07, 0.24);
/// Push rods, rockers, followers.
pub const GEAR: Colour = linear(0.48, 0.49, 0.50);
/// Marks that must be seen.
pub const MARK: Colour = linear(0.95, 0.95, 0.90);
/// Where a mark is stamped.
pub const MARK_GROUND: Colour = linear(0.03, 0.03, 0.03);
/// The pointer.
pub const POINTER: Colour = linear(0.80, 0.10, 0.06);
/// The pulley.
pub const PULLEY: Colour = linear(0.13, 0.15, 0.18);
/// The rotor.
pub const ROTOR: Colour = linear(0.30, 0.13, 0.05);
/// Brass: contacts, towers' electrodes.
pub const BRASS: Colour = linear(0.66, 0.46, 0.14);
/// The distributor's body.
pub const BODY: Colour = linear(0.30, 0.32, 0.34);
/// The cap's towers.
pub const TOWER: Colour = linear(0.20, 0.07, 0.04);
/// A spark.
pub const SPARK: Colour = linear(1.0, 0.85, 0.25);

/// A finish: what the shader does with a mesh's own colours. Simpler by far than bevy's own
/// material: that one costs a second a frame where the processor draws.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
#[bind_group_data(FinishKey)]
pub struct PartMaterial {
    #[uniform(0)]
    finish: Finish,
    clear: bool,
    catches_shadows: bool,
}

/// What the shader is handed.
#[derive(Clone, Copy, Debug, ShaderType)]
struct Finish {
    tint: Vec4,
    manner: Vec4,
}

/// What makes one pipeline another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(C)]
pub struct FinishKey {
    clear: bool,
    catches_shadows: bool,
}

impl From<&PartMaterial> for FinishKey {
    fn from(metal: &PartMaterial) -> Self {
        Self {
            clear: metal.clear,
            catches_shadows: metal.catches_shadows,
        }
    }
}

/// Where the key light comes from, as in the shader: from above, the front and the left.
pub const KEY_LIGHT_FROM: Vec3 = Vec3::new(-0.398, 0.696, 0.597);

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
        if let (true, Some(fragment)) = (
            key.bind_group_data.catches_shadows,
            &mut descriptor.fragment,
        ) {
            fragment.shader_defs.push("CATCHES_SHADOWS".into());
        }
        Ok(())
    }
}

/// The materials.
#[derive(Resource, Debug)]
pub struct PartMaterials {
    /// All that is opaque.
    pub opaque: Handle<PartMaterial>,
    /// Cylinders and cap.
    pub glass: Handle<PartMaterial>,
    /// Parts made see-through by the user.
    pub see_through: Handle<PartMaterial>,
    /// Parts as drawn, beside parts as built.
    pub ghost: Handle<PartMaterial>,
    /// Sparks and letters: lit from within.
    pub glow: Handle<PartMaterial>,
    /// The shade under the engine.
    pub shade: Handle<PartMaterial>,
}

impl PartMaterials {
    /// PartMaterials show the shadows that fall on them, or do not.
    pub fn catch_shadows(&self, finishes: &mut Assets<PartMaterial>, catch: bool) {
        for metal in [&self.opaque, &self.see_through] {
            if finishes
                .get(metal)
                .is_some_and(|finish| finish.catches_shadows != catch)
                && let Some(mut finish) = finishes.get_mut(metal)
            {
                finish.catches_shadows = catch;
            }
        }
    }
}

impl FromWorld for PartMaterials {
    fn from_world(world: &mut World) -> Self {
        let mut metals = world.resource_mut::<Assets<PartMaterial>>();
        let mut of = |tint: [f32; 4], glow: f32, glass: f32| {
            let finish = Finish {
                tint: Vec4::from_array(tint),
                manner: Vec4::new(glow, glass, 0.0, 0.0),
            };
            metals.add(PartMaterial {
                finish,
                clear: tint[3] < 1.0,
                catches_shadows: false,
            })
        };
        Self {
            opaque: of([1.0; 4], 0.0, 0.0),
            glass: of([0.62, 0.78, 0.92, 0.34], 0.3, 1.0),
            see_through: of([1.0, 1.0, 1.0, 0.28], 0.0, 0.0),
            ghost: of([0.36, 0.24, 0.66, 0.62], 1.0, 0.0),
            glow: of([1.0; 4], 1.0, 0.0),
            // A hair under 1, so that it is drawn as what can be seen through.
            shade: of([1.0, 1.0, 1.0, 0.999], 1.0, 0.0),
        }
    }
}

/// The material and its shader.
pub struct MaterialsPlugin;

impl Plugin for MaterialsPlugin {
    fn build(&self, app: &mut App) {
        load_internal_asset!(app, SHADER, "materials.wgsl", Shader::from_wgsl);
        app.add_plugins(MaterialPlugin::<PartMaterial>::default());
        app.init_resource::<PartMaterials>();
    }
}
