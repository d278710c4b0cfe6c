//! A valve's two readings on the degree wheel.

/// What was read on the degree wheel for one valve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EventReadings {
    /// Where the valve came to the lift going up.
    pub opens_deg: f64,
    /// Where it came back to it.
    pub closes_deg: f64,
}

impl EventReadings {
    /// Midway between the two: the lobe's centre.
    pub fn centre_deg(self) -> f64 {
        (self.opens_deg + self.closes_deg) / 2.0
    }

    /// Crank degrees between.
    pub fn duration_deg(self) -> f64 {
        self.closes_deg - self.opens_deg
    }
}
