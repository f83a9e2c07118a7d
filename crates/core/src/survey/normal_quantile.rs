//! Quantiles of the normal distribution, from which guard bands take their factor.
//!
//! # Source
//! M. J. Wichura, Algorithm AS 241: The percentage points of the normal distribution, Applied
//! Statistics 37 (1988) 477-484, routine PPND16 (about 16 digits).

/// Numerator and denominator of a quotient of polynomials, lowest power first.
type Quotient = ([f64; 8], [f64; 8]);

const CENTRE: Quotient = (
    [
        3.387_132_872_796_366_5,
        1.331_416_678_917_843_8e2,
        1.971_590_950_306_551_3e3,
        1.373_169_376_550_946e4,
        4.592_195_393_154_987e4,
        6.726_577_092_700_87e4,
        3.343_057_558_358_813e4,
        2.509_080_928_730_122_7e3,
    ],
    [
        1.0,
        4.231_333_070_160_091e1,
        6.871_870_074_920_579e2,
        5.394_196_021_424_751e3,
        2.121_379_430_158_659_7e4,
        3.930_789_580_009_271e4,
        2.872_908_573_572_194_3e4,
        5.226_495_278_852_545e3,
    ],
);

const TAIL: Quotient = (
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        2.417_807_251_774_506e-1,
        2.272_384_498_926_918_4e-2,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        6.897_673_349_851e-1,
        1.481_039_764_274_800_8e-1,
        1.519_866_656_361_645_7e-2,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
);

fn quotient((above, below): &Quotient, at: f64) -> f64 {
    let polynomial =
        |coefficients: &[f64; 8]| coefficients.iter().rev().fold(0.0, |sum, c| sum * at + c);
    polynomial(above) / polynomial(below)
}

/// The value that a standard normal variable stays below with a probability from 0.5 to 0.9999.
///
/// The farthest tail of the source (beyond about 1 - 1e-11) is left out: nobody asks for it here.
pub(super) fn normal_quantile(probability: f64) -> f64 {
    let from_middle = probability - 0.5;
    if from_middle.abs() <= 0.425 {
        from_middle * quotient(&CENTRE, 0.180_625 - from_middle * from_middle)
    } else {
        quotient(&TAIL, (-(1.0 - probability).ln()).sqrt() - 1.6)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // Percentage points of the normal distribution to ten decimals, as any table of them prints
    // (five decimals in M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, table 26.5);
    // the further decimals were computed with another implementation.
    #[case::middle(0.5, 0.0)]
    #[case::eighty(0.8, 0.841_621_233_6)]
    #[case::ninety(0.9, 1.281_551_565_5)]
    #[case::ninety_five(0.95, 1.644_853_627_0)]
    #[case::ninety_nine(0.99, 2.326_347_874_0)]
    #[case::three_nines(0.999, 3.090_232_306_2)]
    fn percentage_points_are_those_of_the_tables(#[case] probability: f64, #[case] expected: f64) {
        let found = normal_quantile(probability);
        assert!((found - expected).abs() < 1e-10, "{found}");
    }
}
