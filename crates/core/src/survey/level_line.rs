//! The least-squares line through heights along a straight profile.
//!
//! # Source
//! Ordinary least squares with centred columns; standard errors with n - 2 in the denominator.

/// A line z = intercept + slope x through a profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelLine {
    /// Height at x = 0, millimetres.
    pub intercept_mm: f64,
    /// Rise per length.
    pub slope: f64,
    /// Standard deviation of the residuals; none for two points.
    pub residual_std_mm: Option<f64>,
    /// Standard error of the intercept from the residuals; none for two points.
    pub intercept_error_mm: Option<f64>,
    /// Standard error of the slope from the residuals; none for two points.
    pub slope_error: Option<f64>,
    /// The share of the heights' variance that the line explains; none where all are equal.
    pub r_squared: Option<f64>,
}

impl LevelLine {
    /// Fits the line to points `[x, z]`, millimetres; none for fewer than two places along x or a
    /// value that is no number.
    pub fn fit(points: &[[f64; 2]]) -> Option<Self> {
        let count = as_float(points.len());
        let is_usable = points.len() >= 2 && points.iter().flatten().all(|value| value.is_finite());
        if !is_usable {
            return None;
        }
        let mean = |axis: usize| -> f64 {
            let first = points.iter().map(|point| point[axis]).sum::<f64>() / count;
            first + points.iter().map(|point| point[axis] - first).sum::<f64>() / count
        };
        let (x_mean, z_mean) = (mean(0), mean(1));
        let centred = || points.iter().map(|[x, z]| (x - x_mean, z - z_mean));
        let xx: f64 = centred().map(|(x, _)| x * x).sum();
        let zz: f64 = centred().map(|(_, z)| z * z).sum();
        if xx <= 0.0 {
            return None;
        }
        let slope = centred().map(|(x, z)| x * z).sum::<f64>() / xx;
        let squares: f64 = centred().map(|(x, z)| (z - slope * x).powi(2)).sum();
        let free = points.len().checked_sub(2).filter(|free| *free > 0);
        let residual_std_mm = free.map(|free| (squares / as_float(free)).sqrt());
        Some(Self {
            intercept_mm: z_mean - slope * x_mean,
            slope,
            residual_std_mm,
            intercept_error_mm: residual_std_mm
                .map(|std| std * (1.0 / count + x_mean * x_mean / xx).sqrt()),
            slope_error: residual_std_mm.map(|std| std / xx.sqrt()),
            r_squared: (zz > 0.0).then(|| 1.0 - squares / zz),
        })
    }
}

#[expect(clippy::cast_precision_loss, reason = "far fewer points than 2^52")]
fn as_float(count: usize) -> f64 {
    count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST Statistical Reference Datasets, linear regression, Norris: ozone monitors, x and y.
    const NORRIS: [[f64; 2]; 36] = [
        [0.2, 0.1],
        [337.4, 338.8],
        [118.2, 118.1],
        [884.6, 888.0],
        [10.1, 9.2],
        [226.5, 228.1],
        [666.3, 668.5],
        [996.3, 998.5],
        [448.6, 449.1],
        [777.0, 778.9],
        [558.2, 559.2],
        [0.4, 0.3],
        [0.6, 0.1],
        [775.5, 778.1],
        [666.9, 668.8],
        [338.0, 339.3],
        [447.5, 448.9],
        [11.6, 10.8],
        [556.0, 557.7],
        [228.1, 228.3],
        [995.8, 998.0],
        [887.6, 888.8],
        [120.2, 119.6],
        [0.3, 0.3],
        [0.3, 0.6],
        [556.8, 557.6],
        [339.1, 339.3],
        [887.2, 888.0],
        [999.0, 998.5],
        [779.0, 778.9],
        [11.1, 10.2],
        [118.3, 117.6],
        [229.2, 228.9],
        [669.1, 668.4],
        [448.9, 449.2],
        [0.5, 0.2],
    ];

    #[test]
    fn a_line_through_the_norris_data_gives_the_certified_figures() {
        let line = LevelLine::fit(&NORRIS).unwrap();
        let close = |found: f64, expected: f64| {
            assert!((found - expected).abs() <= 1e-11 * expected.abs(), "{found} {expected}");
        };
        close(line.intercept_mm, -0.262_323_073_774_029);
        close(line.slope, 1.002_116_818_020_45);
        close(line.residual_std_mm.unwrap(), 0.884_796_396_144_373);
        close(line.intercept_error_mm.unwrap(), 0.232_818_234_301_152);
        close(line.slope_error.unwrap(), 0.429_796_848_199_937e-3);
        close(line.r_squared.unwrap(), 0.999_993_745_883_712);
    }

    #[test]
    fn a_line_needs_two_places() {
        assert_eq!(LevelLine::fit(&[[1.0, 2.0], [1.0, 3.0]]), None);
        assert_eq!(LevelLine::fit(&[[1.0, 2.0], [f64::NAN, 3.0]]), None);
        let two = LevelLine::fit(&[[0.0, 1.0], [2.0, 5.0]]).unwrap();
        assert!((two.slope - 2.0).abs() < 1e-12);
        assert_eq!(two.residual_std_mm, None);
    }
}
