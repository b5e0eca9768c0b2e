//! Vectors and the few transcendental functions core may use.
//!
//! Results must be the same bits on every machine. Sums, products, quotients and square roots are exact by IEEE 754;
//! the functions here go through `libm`, which is plain Rust. The standard library's own versions call the
//! platform's and are banned by `clippy.toml`.

pub use glam::{DMat3, DQuat, DVec2, DVec3};
use pulp::{Arch, Simd, WithSimd};

/// Work on many numbers that is compiled once for each width of a processor's vectors.
pub(crate) trait Wide {
    /// What comes of it.
    type Output;
    /// Does the work. Only what is inlined into this is compiled for wider vectors: it and what it calls in its loops are to be
    /// `#[inline(always)]`.
    fn run(self) -> Self::Output;
}

/// Does the work with the widest vectors that the processor has. It is compiled from the same text for each, and products are
/// never fused with sums, so all give the same bits.
pub(crate) fn widest<W: Wide>(work: W) -> W::Output {
    struct Dispatched<W>(W);
    impl<W: Wide> WithSimd for Dispatched<W> {
        type Output = W::Output;
        #[inline(always)]
        fn with_simd<S: Simd>(self, _: S) -> W::Output {
            self.0.run()
        }
    }
    Arch::new().dispatch(Dispatched(work))
}

/// Sine of an angle [rad].
#[must_use]
pub fn sin(angle: f64) -> f64 {
    libm::sin(angle)
}

/// Cosine of an angle [rad].
#[must_use]
pub fn cos(angle: f64) -> f64 {
    libm::cos(angle)
}

/// Angle of the point (x, y) [rad], in -pi..=pi.
#[must_use]
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Arc cosine [rad]; the argument is clamped to -1..=1.
#[must_use]
pub fn acos(cosine: f64) -> f64 {
    libm::acos(cosine.clamp(-1.0, 1.0))
}

/// e to the power `x`.
#[must_use]
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm of `x > 0`.
#[must_use]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// `base` to the power `exponent`, `base >= 0`.
#[must_use]
pub fn pow(base: f64, exponent: f64) -> f64 {
    libm::pow(base, exponent)
}

/// Rotation by `angle` [rad] about the unit vector `axis`.
#[must_use]
pub fn rotation(axis: DVec3, angle: f64) -> DQuat {
    let half = 0.5 * angle;
    let s = sin(half);
    DQuat::from_xyzw(axis.x * s, axis.y * s, axis.z * s, cos(half))
}

/// The smallest rotation that takes the unit vector `from` to the unit vector `to`; opposite vectors turn about any axis across.
#[must_use]
pub fn rotation_between(from: DVec3, to: DVec3) -> DQuat {
    let w = 1.0 + from.dot(to);
    if w < 1e-12 {
        let axis = across(from);
        return DQuat::from_xyzw(axis.x, axis.y, axis.z, 0.0);
    }
    let c = from.cross(to);
    DQuat::from_xyzw(c.x, c.y, c.z, w).normalize()
}

/// Some unit vector at right angles to `v` (`v` not zero), always the same one for the same `v`.
#[must_use]
pub fn across(v: DVec3) -> DVec3 {
    let axis = if v.x.abs() <= v.y.abs() && v.x.abs() <= v.z.abs() {
        DVec3::X
    } else if v.y.abs() <= v.z.abs() {
        DVec3::Y
    } else {
        DVec3::Z
    };
    v.cross(axis).normalize()
}

/// A rigid placement: where a body's own origin is and how the body is turned.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Pose {
    /// Origin [mm].
    pub position: DVec3,
    /// Unit quaternion, body to world.
    pub rotation: DQuat,
}

impl Pose {
    /// World position [mm] of the body point `local` [mm].
    #[must_use]
    pub fn point(&self, local: DVec3) -> DVec3 {
        self.position + self.rotation * local
    }

    /// World direction of the body direction `local`.
    #[must_use]
    pub fn direction(&self, local: DVec3) -> DVec3 {
        self.rotation * local
    }

    /// Body coordinates [mm] of the world point `world` [mm].
    #[must_use]
    pub fn local(&self, world: DVec3) -> DVec3 {
        self.rotation.conjugate() * (world - self.position)
    }
}
