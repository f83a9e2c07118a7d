//! The least-squares plane through measured heights, its slopes and their uncertainty.
//!
//! The plane is z = a + b x + c y, heights measured along gravity, so only z carries an error.
//! Coordinates are counted from their mean, which makes the intercept independent of the slopes,
//! and the two columns are made orthogonal one after the other; normal equations would lose twice
//! as many digits.
//!
//! # Source
//! Uncertainty of the slopes: JCGM 100:2008, clause 5.1 (propagation, independent readings of one
//! standard uncertainty u), here `u * sqrt(diag(inverse(A'A)))`.

use super::SlopeDistribution;

/// Points whose spread in x or y is below this, root mean square, lie on one line, millimetres.
const SPREAD_MM_MIN: f64 = 0.001;
/// The least sine of the angle between the x and y columns of the points: below it, they lie on
/// one slanting line as far as 64-bit numbers can tell.
const COLUMN_SINE_MIN: f64 = 1e-6;

/// Why points have no plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoPlane {
    /// Fewer than three points.
    #[error("a plane needs 3 points, found {found}")]
    TooFewPoints {
        /// How many there are.
        found: usize,
    },
    /// All points lie on one line in plan, or at one place.
    #[error("the {found} points lie on one line")]
    OnOneLine {
        /// How many there are.
        found: usize,
    },
    /// A coordinate is NaN or infinite.
    #[error("point {at} is not a number")]
    NotANumber {
        /// Its place in the list, from 0.
        at: usize,
    },
}

/// A least-squares plane through measured heights.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelPlane {
    mean: [f64; 3],
    slope_x: f64,
    slope_y: f64,
    residuals: Vec<f64>,
    /// Variances of the slopes and their covariance, for a unit variance of the heights.
    variance_x: f64,
    variance_y: f64,
    covariance: f64,
    /// Sum of the squared heights, counted from their mean.
    total_squares: f64,
}

impl LevelPlane {
    /// Fits the plane to points `[x, y, z]`, millimetres.
    ///
    /// # Errors
    /// [`NoPlane`] for fewer than three points, for points on one line and for a coordinate that
    /// is no number. On one line means: the root mean square spread in x or in y is at most
    /// 0.001 mm, or the sine of the angle between the columns of x and y is at most 1e-6.
    ///
    /// # Example: a floor that rises 3 mm per metre along x
    /// ```
    /// use baywright_core::survey::LevelPlane;
    ///
    /// let heights = [[0.0, 0.0, 1.0], [2_000.0, 0.0, 7.0], [2_000.0, 1_500.0, 7.0]];
    /// let plane = LevelPlane::fit(&heights)?;
    /// assert!((plane.slope_x() - 0.003).abs() < 1e-12);
    /// assert!((plane.steepest_deg() - 0.172).abs() < 1e-3);
    /// # Ok::<(), baywright_core::survey::NoPlane>(())
    /// ```
    ///
    /// # Edge cases
    /// Points nearly on one line have a plane, with a large uncertainty of its slopes.
    pub fn fit(points: &[[f64; 3]]) -> Result<Self, NoPlane> {
        let found = points.len();
        if let Some(at) = points.iter().position(|point| !point.iter().all(|v| v.is_finite())) {
            return Err(NoPlane::NotANumber { at });
        }
        if found < 3 {
            return Err(NoPlane::TooFewPoints { found });
        }
        let count = as_float(found);
        let mean = [0, 1, 2].map(|axis| mean_of(points, axis));
        let column = |axis: usize| -> Vec<f64> {
            points.iter().map(|point| point[axis] - mean[axis]).collect()
        };
        let (x, y, z) = (column(0), column(1), column(2));
        let (xx, yy) = (dot(&x, &x), dot(&y, &y));
        let spread_min = SPREAD_MM_MIN * SPREAD_MM_MIN * count;
        if xx <= spread_min || yy <= spread_min {
            return Err(NoPlane::OnOneLine { found });
        }
        // y = share * x + rest, with rest orthogonal to x.
        let share = dot(&x, &y) / xx;
        let mut rest: Vec<f64> = x.iter().zip(&y).map(|(x, y)| y - share * x).collect();
        // A second pass removes what rounding left of x in the rest.
        let left_over = dot(&x, &rest) / xx;
        for (rest, x) in rest.iter_mut().zip(&x) {
            *rest -= left_over * x;
        }
        let rest_squared = dot(&rest, &rest);
        if rest_squared <= COLUMN_SINE_MIN * COLUMN_SINE_MIN * yy {
            return Err(NoPlane::OnOneLine { found });
        }
        let share = share + left_over;
        let slope_y = dot(&rest, &z) / rest_squared;
        let slope_x = dot(&x, &z) / xx - share * slope_y;
        let residuals =
            x.iter().zip(&y).zip(&z).map(|((x, y), z)| z - slope_x * x - slope_y * y).collect();
        Ok(Self {
            mean,
            slope_x,
            slope_y,
            residuals,
            variance_x: 1.0 / xx + share * share / rest_squared,
            variance_y: 1.0 / rest_squared,
            covariance: -share / rest_squared,
            total_squares: dot(&z, &z),
        })
    }

    /// Height of the plane at x = 0, y = 0, millimetres.
    pub fn intercept_mm(&self) -> f64 {
        self.height_mm_at(0.0, 0.0)
    }

    /// Height of the plane at a place, millimetres.
    pub fn height_mm_at(&self, x_mm: f64, y_mm: f64) -> f64 {
        let [x_mean, y_mean, z_mean] = self.mean;
        z_mean + self.slope_x * (x_mm - x_mean) + self.slope_y * (y_mm - y_mean)
    }

    /// Rise per length along x, millimetres per millimetre.
    pub fn slope_x(&self) -> f64 {
        self.slope_x
    }

    /// Rise per length along y, millimetres per millimetre.
    pub fn slope_y(&self) -> f64 {
        self.slope_y
    }

    /// Slope along x, degrees.
    pub fn slope_x_deg(&self) -> f64 {
        self.slope_x.atan().to_degrees()
    }

    /// Slope along y, degrees.
    pub fn slope_y_deg(&self) -> f64 {
        self.slope_y.atan().to_degrees()
    }

    /// Steepest slope, degrees, never negative.
    pub fn steepest_deg(&self) -> f64 {
        self.slope_x.hypot(self.slope_y).atan().to_degrees()
    }

    /// Measured height less height of the plane, per point in the order given, millimetres.
    pub fn residuals(&self) -> &[f64] {
        &self.residuals
    }

    /// The largest residual, without its sign, millimetres.
    pub fn largest_residual_mm(&self) -> f64 {
        self.residuals.iter().fold(0.0, |largest, residual| residual.abs().max(largest))
    }

    /// Standard deviation of the residuals with n - 3 in the denominator, millimetres; none for
    /// three points, through which the plane passes exactly.
    pub fn residual_std_mm(&self) -> Option<f64> {
        let free = self.residuals.len().checked_sub(3).filter(|free| *free > 0)?;
        Some((dot(&self.residuals, &self.residuals) / as_float(free)).sqrt())
    }

    /// Standard uncertainty of the slope along x for heights of standard uncertainty `u_mm`.
    pub fn slope_x_uncertainty(&self, u_mm: f64) -> f64 {
        u_mm * self.variance_x.sqrt()
    }

    /// Standard uncertainty of the slope along y for heights of standard uncertainty `u_mm`.
    pub fn slope_y_uncertainty(&self, u_mm: f64) -> f64 {
        u_mm * self.variance_y.sqrt()
    }

    /// Covariance of the slopes along x and y for heights of standard uncertainty `u_mm`.
    pub fn slope_covariance(&self, u_mm: f64) -> f64 {
        u_mm * u_mm * self.covariance
    }

    /// Standard uncertainty of the slope along x, degrees: d(atan s)/ds = 1 / (1 + s^2).
    pub fn slope_x_uncertainty_deg(&self, u_mm: f64) -> f64 {
        (self.slope_x_uncertainty(u_mm) / (1.0 + self.slope_x * self.slope_x)).to_degrees()
    }

    /// Standard uncertainty of the slope along y, degrees.
    pub fn slope_y_uncertainty_deg(&self, u_mm: f64) -> f64 {
        (self.slope_y_uncertainty(u_mm) / (1.0 + self.slope_y * self.slope_y)).to_degrees()
    }

    /// The slope with its covariance, for heights of standard uncertainty `u_mm` of their own and an
    /// instrument whose horizontal has the standard uncertainty `tilt` (rise per length) both ways.
    pub fn slope_distribution(&self, u_mm: f64, tilt: f64) -> SlopeDistribution {
        let (variance, tilt_variance) = (u_mm * u_mm, tilt * tilt);
        SlopeDistribution {
            x: self.slope_x,
            y: self.slope_y,
            variance_x: variance * self.variance_x + tilt_variance,
            variance_y: variance * self.variance_y + tilt_variance,
            covariance: variance * self.covariance,
        }
    }

    /// The share of the heights' variance that the plane explains; none where all are equal.
    pub fn r_squared(&self) -> Option<f64> {
        let left = dot(&self.residuals, &self.residuals);
        (self.total_squares > 0.0).then(|| 1.0 - left / self.total_squares)
    }

    /// Standard uncertainty of the slope in the least certain direction, for heights of standard
    /// uncertainty `u_mm`; the square root of the larger eigenvalue of the slopes' covariance.
    ///
    /// # Edge cases
    /// It bounds the uncertainty of the steepest slope from above. First-order propagation of the
    /// steepest slope fails on a floor that is almost level, where this does not.
    pub fn steepest_uncertainty(&self, u_mm: f64) -> f64 {
        self.slope_distribution(u_mm, 0.0).largest_u()
    }
}

/// The mean of one coordinate; a second pass removes the rounding of the first.
fn mean_of(points: &[[f64; 3]], axis: usize) -> f64 {
    let count = as_float(points.len());
    let first: f64 = points.iter().map(|point| point[axis]).sum::<f64>() / count;
    first + points.iter().map(|point| point[axis] - first).sum::<f64>() / count
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[expect(clippy::cast_precision_loss, reason = "far fewer points than 2^52")]
fn as_float(count: usize) -> f64 {
    count as f64
}

#[cfg(test)]
mod tests;
