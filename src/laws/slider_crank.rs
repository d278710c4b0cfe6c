//! The crank, rod and piston: where the piston stands at a throw's angle.
//!
//! In the cylinder's own frame x runs out along the bore and y points to the side the crankpin
//! swings to just after TDC. r is the throw's radius, l the rod, e = −pin offset the gudgeon pin's
//! y (the major thrust side is −y), φ the throw's angle past the bore axis in the running
//! direction.
//!
//! - x(φ) = r cos φ + √(l² − (r sin φ − e)²)
//! - TDC at φ_T = asin(e / (l + r)), BDC at φ_B = 180° + asin(e / (l − r))
//! - drop(φ) = x(φ_T) − x(φ)
//!
//! Source: the slider-crank with offset, E. Söylemez, *Mechanisms*, §7.2.

use crate::description::Description;

/// A crank and piston. Lengths in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SliderCrank {
    radius_mm: f64,
    rod_mm: f64,
    pin_y_mm: f64,
    tdc_deg: f64,
    bdc_deg: f64,
    top_mm: f64,
}

impl SliderCrank {
    /// The crank and piston of a description in millimetres.
    pub fn of(metric: &Description) -> Self {
        Self::new(
            metric.crankshaft.stroke,
            metric.rod_length,
            metric.pin_offset(),
        )
    }

    /// A crank of `stroke_mm` (twice the throw), a rod and a gudgeon pin offset towards the major
    /// thrust side.
    ///
    /// The rod must be longer than the throw and the offset together; else no piston can go round,
    /// and every answer is NaN.
    pub fn new(stroke_mm: f64, rod_mm: f64, pin_offset_mm: f64) -> Self {
        let radius_mm = stroke_mm / 2.0;
        let pin_y_mm = 0.0 - pin_offset_mm;
        let tdc_deg = (pin_y_mm / (rod_mm + radius_mm)).asin().to_degrees();
        let bdc_deg = 180.0 + (pin_y_mm / (rod_mm - radius_mm)).asin().to_degrees();
        let mut slider = Self {
            radius_mm,
            rod_mm,
            pin_y_mm,
            tdc_deg,
            bdc_deg,
            top_mm: 0.0,
        };
        slider.top_mm = slider.pin_height_mm(tdc_deg);
        slider
    }

    /// The throw's radius: half of twice the throw.
    pub fn radius_mm(&self) -> f64 {
        self.radius_mm
    }

    /// The rod, centre to centre.
    pub fn rod_mm(&self) -> f64 {
        self.rod_mm
    }

    /// The gudgeon pin's y in the cylinder's frame.
    pub fn pin_y_mm(&self) -> f64 {
        self.pin_y_mm
    }

    /// The throw's angle past the bore at top dead centre, φ_T, degrees.
    pub fn tdc_deg(&self) -> f64 {
        self.tdc_deg
    }

    /// Crank degrees from top to bottom dead centre, B = φ_B − φ_T: 180 without offset.
    pub fn down_stroke_deg(&self) -> f64 {
        self.bdc_deg - self.tdc_deg
    }

    /// How far the piston goes: from top to bottom dead centre. Twice the throw without offset, a
    /// little more with it.
    pub fn travel_mm(&self) -> f64 {
        self.top_mm - self.pin_height_mm(self.bdc_deg)
    }

    /// The gudgeon pin's height over the crank's centre, x(φ), with the throw `throw_deg` past the
    /// bore.
    pub fn pin_height_mm(&self, throw_deg: f64) -> f64 {
        let (sin, cos) = throw_deg.to_radians().sin_cos();
        self.pin_height_at(sin, cos)
    }

    fn pin_height_at(&self, sin: f64, cos: f64) -> f64 {
        let sideways = self.radius_mm * sin - self.pin_y_mm;
        self.radius_mm * cos + (self.rod_mm * self.rod_mm - sideways * sideways).sqrt()
    }

    /// How far the piston stands below top dead centre, `phase_deg` crank degrees after it.
    ///
    /// ```
    /// use dotwise::laws::SliderCrank;
    /// // Stroke 6 in, rod 12 in, 19° before TDC: 0.2032 in, the further places cut off. TM 5-6115-593-34, static timing sheet.
    /// let drop = SliderCrank::new(6.0 * 25.4, 12.0 * 25.4, 0.0).drop_mm(-19.0);
    /// assert!((0.2032..0.2033).contains(&(drop / 25.4)));
    /// ```
    pub fn drop_mm(&self, phase_deg: f64) -> f64 {
        self.top_mm - self.pin_height_mm(phase_deg + self.tdc_deg)
    }

    /// [`drop_mm`](Self::drop_mm) from the sine and cosine of the throw's angle past the bore.
    pub(crate) fn drop_at(&self, sin: f64, cos: f64) -> f64 {
        self.top_mm - self.pin_height_at(sin, cos)
    }

    /// How many crank degrees after (or, with `before`, before) top dead centre the piston stands
    /// `drop_mm` below it.
    ///
    /// None where the piston never goes so low. Found by halving the stroke's angle: the drop only
    /// grows from TDC to BDC.
    pub fn degrees_for_drop(&self, drop_mm: f64, before: bool) -> Option<f64> {
        if !(0.0..=self.travel_mm()).contains(&drop_mm) {
            return None;
        }
        let (side, most) = if before {
            (-1.0, 360.0 - self.down_stroke_deg())
        } else {
            (1.0, self.down_stroke_deg())
        };
        let (mut near, mut far) = (0.0, most);
        for _ in 0..60 {
            let middle = (near + far) / 2.0;
            if self.drop_mm(side * middle) < drop_mm {
                near = middle;
            } else {
                far = middle;
            }
        }
        Some((near + far) / 2.0)
    }
}
