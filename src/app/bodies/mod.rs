//! Instruments stopped by teeth and bone: the only code that names the rigid body engine.
//!
//! What it works out reaches the simulation only as the stopped pose in a live hand's command. When the script plays,
//! bodies follow and stop nothing.

use bevy::prelude::*;
use bevy_rapier3d::prelude::*;
use bevy_rapier3d::rapier::dynamics::{FrictionModel, IntegrationParameters, SpringCoefficients};

use super::frame::{from_scene, to_scene, to_scene_rotation, to_scene_transform};
use super::plan::SitePlan;
use super::ticking::{Live, TickSystems};
use super::view::{Shown, Site};
use crate::math::Pose;
use crate::quantity::TICKS_PER_SECOND;
use crate::site::hard::RIDGE_HALF;

/// Size of the things that move here [mm], to which the engine's own tolerances are relative. One scene unit is a
/// millimetre and a jaw is about a centimetre; with a metre in millimetres it would forgive 5 mm of overlap.
const LENGTH_UNIT: f32 = 10.0;

/// Gravity [mm/s^2].
const GRAVITY: f32 = -9810.0;

/// A tip's proxy from here to there behind the tip [mm], and its radius [mm]: the closed jaws of either instrument.
const PROXY: [f32; 3] = [0.9, 14.0, 0.9];

/// Room kept to what stops a tip [mm].
const ROOM: f32 = 0.02;

/// Slides along at most so many faces in one tick; a corner of a mouth has three.
const SLIDES: usize = 4;

/// The proxy of an instrument's tip.
#[derive(Component)]
struct TipProxy(usize);

/// A body of the site.
#[derive(Component)]
struct OfSite;

/// Where both tips were when the tick began.
#[derive(Resource, Debug, Clone, Copy)]
pub struct TipsBefore(pub [Pose; 2]);

/// Adds the engine, the bodies of the site and the proxies of both tips.
pub fn plugin(app: &mut App) {
    app.insert_resource(TimestepMode::Fixed { dt: 1.0 / TICKS_PER_SECOND as f32, substeps: 1 })
        .add_plugins(
            RapierPhysicsPlugin::<NoUserData>::default()
                .with_custom_initialization(RapierContextInitialization::InitializeDefaultRapierContext {
                    integration_parameters: parameters(),
                    rapier_configuration: configuration(),
                })
                .in_fixed_schedule(),
        )
        .add_systems(Startup, spawn_proxies)
        .add_systems(PreUpdate, spawn_site.run_if(resource_exists_and_changed::<Site>))
        .add_systems(FixedUpdate, stop_tips.in_set(TickSystems::Stop))
        .add_systems(FixedUpdate, follow_tips.after(TickSystems::Step).before(PhysicsSet::SyncBackend));
}

/// Every parameter, so that a new version of the engine cannot change one unseen.
fn parameters() -> IntegrationParameters {
    IntegrationParameters {
        dt: 1.0 / TICKS_PER_SECOND as f32,
        min_ccd_dt: 0.01 / TICKS_PER_SECOND as f32,
        contact_softness: SpringCoefficients { natural_frequency: 30.0, damping_ratio: 10.0 },
        static_contact_softness: SpringCoefficients { natural_frequency: 60.0, damping_ratio: 10.0 },
        warmstart_coefficient: 1.0,
        length_unit: LENGTH_UNIT,
        normalized_allowed_linear_error: 0.005,
        normalized_max_corrective_velocity: 3.0,
        normalized_prediction_distance: 0.02,
        normalized_max_linear_velocity: 400.0,
        num_solver_iterations: 4,
        num_internal_pgs_iterations: 1,
        num_internal_stabilization_iterations: 1,
        max_ccd_substeps: 1,
        contact_clustering: true,
        contact_recycling: true,
        normalized_contact_recycle_distance: 0.05,
        friction_in_bias_pass: false,
        warmstart_joints: false,
        friction_model: FrictionModel::Simplified,
    }
}

fn configuration() -> RapierConfiguration {
    RapierConfiguration {
        gravity: Vec3::Y * GRAVITY,
        physics_pipeline_active: true,
        scaled_shape_subdivision: 10,
        force_update_from_transform_changes: false,
    }
}

/// Teeth as the hulls of their crowns, bone as a slab whose top is the bed under the flaps; instead of those of a site before.
fn spawn_site(mut commands: Commands, site: Res<Site>, before: Query<Entity, With<OfSite>>) {
    before.iter().for_each(|entity| commands.entity(entity).despawn());
    for points in crown_hulls(&site.0) {
        let Some(hull) = Collider::convex_hull(&points) else { continue };
        commands.spawn((OfSite, RigidBody::Fixed, hull, Transform::default()));
    }
    let depth = 6.0;
    #[expect(clippy::cast_possible_truncation, reason = "a stop for hands")]
    let top = -site.0.thickness as f32;
    #[expect(clippy::cast_possible_truncation, reason = "a stop for hands")]
    let [along, across] = RIDGE_HALF.map(|half| half as f32);
    let bone = (Collider::cuboid(along, depth, across), Transform::from_xyz(0.0, top - depth, 0.0));
    commands.spawn((OfSite, RigidBody::Fixed, bone));
}

/// Points of each crown's hull: its neck, its bulge and its top.
fn crown_hulls(plan: &SitePlan) -> Vec<Vec<Vec3>> {
    let ring = |crown: &super::plan::Crown, share: f64, z: f64| {
        let around = 16;
        (0..around)
            .map(|i| {
                let angle = f64::from(i) / f64::from(around) * std::f64::consts::TAU;
                let (x, y) = (crate::math::cos(angle), crate::math::sin(angle));
                let at = crate::math::DVec3::new(x * crown.half[0], y * crown.half[1], 0.0) * share;
                to_scene(crown.middle + at + crate::math::DVec3::Z * z)
            })
            .collect::<Vec<Vec3>>()
    };
    plan.crowns.iter().map(|crown| crown.rings().map(|(level, share)| ring(crown, share, level)).concat()).collect()
}

fn proxy_shape() -> Collider {
    let [start, end, radius] = PROXY;
    Collider::capsule(Vec3::X * start, Vec3::X * end, radius)
}

fn spawn_proxies(mut commands: Commands, shown: Res<Shown>) {
    for (tool, view) in shown.0.tools.iter().enumerate() {
        commands.spawn((
            TipProxy(tool),
            RigidBody::KinematicPositionBased,
            proxy_shape(),
            to_scene_transform(&view.pose),
        ));
    }
}

/// The proxies stand where the instruments stood after the last tick that was drawn.
fn follow_tips(shown: Res<Shown>, mut proxies: Query<(&TipProxy, &mut Transform)>) {
    for (proxy, mut transform) in &mut proxies {
        *transform = to_scene_transform(&shown.0.tools[proxy.0].pose);
    }
}

/// Live tips go as far as teeth and bone let them, and slide along.
fn stop_tips(context: ReadRapierContext, before: Res<TipsBefore>, mut live: ResMut<Live>) {
    let (Some(hands), Ok(context)) = (live.0.as_mut(), context.single()) else { return };
    let shape = proxy_shape();
    for (hand, before) in hands.hands.iter_mut().zip(before.0) {
        hand.pose = stopped(&context, &shape, &before, &hand.pose);
    }
}

/// The pose nearest to `wanted` that a tip can slide to from `before`.
fn stopped(context: &RapierContext, shape: &Collider, before: &Pose, wanted: &Pose) -> Pose {
    let start = to_scene(before.position);
    let turned = to_scene_rotation(wanted.rotation);
    let rotation = if touches(context, shape, start, turned) { before.rotation } else { wanted.rotation };
    let turned = to_scene_rotation(rotation);
    let mut way = to_scene(wanted.position) - start;
    if cast(context, shape, start, turned, way).is_none() {
        // The wanted place itself and not its rounded copy: a free hand is not touched by single precision.
        return Pose { position: wanted.position, rotation };
    }
    let mut at = start;
    for _ in 0..SLIDES {
        let Some((share, normal)) = cast(context, shape, at, turned, way) else {
            at += way;
            break;
        };
        at += way * share;
        way *= 1.0 - share;
        way -= normal * way.dot(normal).min(0.0);
    }
    Pose { position: from_scene(at), rotation }
}

fn touches(context: &RapierContext, shape: &Collider, at: Vec3, turned: Quat) -> bool {
    let mut found = false;
    context.intersect_shape(at, turned, &*shape.raw, QueryFilter::only_fixed(), |_| {
        found = true;
        false
    });
    found
}

/// Share of the way until something is met, and the direction out of it.
fn cast(context: &RapierContext, shape: &Collider, at: Vec3, turned: Quat, way: Vec3) -> Option<(f32, Vec3)> {
    if way.length_squared() < 1e-12 {
        return None;
    }
    let options = ShapeCastOptions {
        max_time_of_impact: 1.0,
        target_distance: ROOM,
        stop_at_penetration: false,
        compute_impact_geometry_on_penetration: true,
    };
    let (_, hit) = context.cast_shape(at, turned, way, &*shape.raw, options, QueryFilter::only_fixed())?;
    let normal = hit.details?.normal1;
    Some((hit.time_of_impact, if normal.dot(way) > 0.0 { -normal } else { normal }))
}
