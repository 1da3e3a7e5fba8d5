//! The forces of the ice on the sled: one interface, several fillings.
//!
//! [`Point`] is a point mass with Coulomb friction (none: the frictionless point). The sled on
//! real runners fills the same interface.

use numerics::dual::Real;

/// What the ice feels.
#[derive(Clone, Copy, Debug)]
pub struct Riding<T> {
    /// Normal load of the whole sled (N).
    pub load_n: T,
    /// Curvature of the ice along the path, concave positive (1/m).
    pub ice_curvature_per_m: T,
    /// Angular acceleration in pitch that the ice asks for, nose up (rad/s2).
    pub nose_up_rad_s2: T,
    /// Velocity along the sled (m/s).
    pub forward_m_s: T,
    /// Velocity across the sled, left positive (m/s).
    pub lateral_velocity_m_s: T,
    /// Rate of turn about the normal (rad/s).
    pub yaw_rate_rad_s: T,
    /// Speed (m/s).
    pub speed_m_s: T,
    /// Steering, -1 full left to 1 full right `[-]`.
    pub steer: T,
    /// Left and right toe on the ice, 0 to 1 `[-]`.
    pub toes: [f64; 2],
}

/// What the ice does to the sled, in body axes, and where the power goes.
#[derive(Clone, Copy, Debug)]
pub struct IceForce<T> {
    /// Force along the sled (N).
    pub x_n: T,
    /// Force across the sled, left positive (N).
    pub y_n: T,
    /// Moment about the normal through the centre of mass, anticlockwise (N m).
    pub moment_n_m: T,
    /// Power lost to glide friction, ploughing straight ahead, skidding and dragged toes (W).
    pub lost_w: [T; 4],
}

/// What the runners do on the ice, left and right.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ContactSample {
    /// Load (N).
    pub load_n: [f64; 2],
    /// First to last touch (m).
    pub touch_span_m: [f64; 2],
    /// Share of the load outside the bow screws `[-]`; above one half the runner bridges.
    pub outside_screws: [f64; 2],
}

/// The forces of the ice.
pub trait Ice {
    /// True when the sled's axis matters to the ice; a point has no slip angle to lose control by.
    const HAS_AXIS: bool;

    /// Forces and lost power; the power lost is exactly what the forces take from the motion.
    fn force<T: Real>(&self, riding: &Riding<T>) -> IceForce<T>;

    /// What the runners do, for the trace; nothing where there are none.
    fn contact(&self, riding: &Riding<f64>) -> ContactSample {
        let _ = riding;
        ContactSample::default()
    }

    /// Positive for the left and right runner while it carries nothing.
    fn lifted(&self, riding: &Riding<f64>) -> [f64; 2] {
        let _ = riding;
        [-1.0; 2]
    }
}

/// A point mass with Coulomb friction.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Coefficient of friction `[-]`; 0 is the frictionless point.
    pub friction: f64,
}

impl Ice for Point {
    const HAS_AXIS: bool = false;

    #[inline]
    fn force<T: Real>(&self, riding: &Riding<T>) -> IceForce<T> {
        let zero = T::from(0.0);
        let pull = riding.load_n.max(zero) * self.friction / riding.speed_m_s;
        IceForce {
            x_n: -(pull * riding.forward_m_s),
            y_n: -(pull * riding.lateral_velocity_m_s),
            moment_n_m: zero,
            lost_w: [pull * riding.speed_m_s.squared(), zero, zero, zero],
        }
    }
}
