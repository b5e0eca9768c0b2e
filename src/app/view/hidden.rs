//! Steel that something hides: a tint where it would be seen if nothing were before it.
//!
//! The same surfaces once more, drawn only where they lie behind what is there already.

use bevy::light::NotShadowCaster;
use bevy::mesh::MeshVertexBufferLayoutRef;
use bevy::pbr::{ExtendedMaterial, MaterialExtension, MaterialExtensionKey, MaterialExtensionPipeline};
use bevy::prelude::*;
use bevy::render::render_resource::{
    AsBindGroup, CompareFunction, RenderPipelineDescriptor, SpecializedMeshPipelineError,
};

/// Cool and faint, so that it is not taken for steel.
const TINT: Color = Color::srgba(0.75, 0.88, 1.0, 0.16);

/// By how much nearer a surface counts, in steps of its depth's last bit. Depth is the near plane's distance over the surface's,
/// 5 of 96 mm, whose last bit is 2^-28; so this is 2.2e-3 of depth, and as depth falls by 5 / 96^2 a millimetre, 4 mm. An
/// instrument's halves lie behind each other by less, and are not to be tinted for that.
const NEARER: i32 = 600_000;

/// What is added to a plain material.
#[derive(Asset, AsBindGroup, TypePath, Debug, Clone, Default)]
pub(super) struct Behind {}

/// The tint.
pub(super) type Hidden = ExtendedMaterial<StandardMaterial, Behind>;

impl MaterialExtension for Behind {
    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialExtensionPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _: &MeshVertexBufferLayoutRef,
        _: MaterialExtensionKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        if let Some(depth) = &mut descriptor.depth_stencil {
            // Near is 1 and far is 0: what is behind has the lesser depth. A surface is not behind itself.
            depth.depth_compare = Some(CompareFunction::Less);
            depth.depth_write_enabled = Some(false);
            depth.bias.constant = NEARER;
        }
        Ok(())
    }
}

/// Adds the material.
pub(super) fn plugin(app: &mut App) {
    app.add_plugins(MaterialPlugin::<Hidden>::default());
}

/// The tint, to be shared by all that has it.
pub(super) fn tint(materials: &mut Assets<Hidden>) -> Handle<Hidden> {
    let base = StandardMaterial { base_color: TINT, unlit: true, alpha_mode: AlphaMode::Blend, ..default() };
    materials.add(Hidden { base, extension: Behind {} })
}

/// A surface where it is hidden.
pub(super) fn surface(mesh: Handle<Mesh>, tint: &Handle<Hidden>) -> impl Bundle {
    (Mesh3d(mesh), MeshMaterial3d(tint.clone()), NotShadowCaster)
}
