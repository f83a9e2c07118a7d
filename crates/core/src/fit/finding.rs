//! What was found about one need: the verdict with its figures, so that a reason always has a
//! number.

use crate::axes::PointFloor;
use crate::demand::LightPlane;
use crate::demand::kinds::kinds;
use crate::fault::Fault;
use crate::fit::LENGTH_REFERENCE_MM;
use crate::ids::{BayId, ObstructionId, SunFreeViewId, ZoneId};
use crate::survey::{ConformanceProbability, Decision, LightGrid, Limits, MorePlaces, decide};
use chrono::NaiveDate;

kinds! {
    /// What a finding is about.
    NeedKind ("need") {
        /// Clear floor for the vehicle's own body.
        Body = "body",
        /// A zone that has a shape for this vehicle.
        ZoneShape = "zone-shape",
        /// Clear floor in a zone.
        ClearFloor = "clear-floor",
        /// The steepest slope of a zone's floor.
        LevelSlope = "level-slope",
        /// The largest distance of a zone's floor from its plane.
        LevelResidual = "level-residual",
        /// How far a target is set to the vehicle's own plane.
        TargetCompensation = "target-compensation",
        /// The least average of the light.
        LightAverageMin = "light-average-min",
        /// The greatest average of the light.
        LightAverageMax = "light-average-max",
        /// The smallest value of the light.
        LightMinimum = "light-minimum",
        /// The greatest value of the light.
        LightMaximum = "light-maximum",
        /// The smallest reading over the average.
        LightUniformity = "light-uniformity",
        /// The colour temperature of the light.
        ColourTemperature = "colour-temperature",
        /// No direct sun in a zone.
        NoDirectSun = "no-direct-sun",
        /// No metal body in a zone.
        NoMetal = "no-metal",
        /// Nobody and nothing that moves in a zone.
        NothingMoving = "nothing-moving",
        /// A plain background behind the target.
        PlainBackground = "plain-background",
    }

    /// The verdict on one need; the later one outweighs the earlier one.
    Verdict ("verdict") {
        /// It holds.
        Conforms = "conforms",
        /// It can only be seen at the vehicle, and is asked there before work starts.
        ConfirmAtStart = "confirm-at-start",
        /// What was surveyed does not decide it.
        Undecided = "undecided",
        /// It does not hold.
        DoesNotConform = "does-not-conform",
    }

    /// The unit of a quantity.
    Unit ("unit") {
        /// Millimetres.
        Millimetre = "mm",
        /// Square millimetres.
        SquareMillimetre = "mm2",
        /// Degrees.
        Degree = "deg",
        /// Lux.
        Lux = "lux",
        /// Kelvin.
        Kelvin = "K",
        /// A plain number.
        Ratio = "ratio",
        /// Minutes.
        Minute = "min",
    }
}

impl Verdict {
    /// Whether work may start as far as this need is concerned.
    pub fn lets_work_start(self) -> bool {
        matches!(self, Self::Conforms | Self::ConfirmAtStart)
    }
}

/// A number with its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
}

impl Quantity {
    pub(super) fn mm(value: f64) -> Self {
        Self { value, unit: Unit::Millimetre }
    }

    pub(super) fn mm2(value: f64) -> Self {
        Self { value, unit: Unit::SquareMillimetre }
    }

    pub(super) fn deg(value: f64) -> Self {
        Self { value, unit: Unit::Degree }
    }
}

/// What a zone is nearest to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Neighbour {
    /// The bay's edge that begins at this vertex of its outline, counted from 0.
    Edge(usize),
    /// An obstruction.
    Obstruction(ObstructionId),
}

/// Why the verdict is as it is.
#[derive(Debug, Clone, PartialEq)]
pub enum Detail {
    /// The measured value keeps its limit, guard band included.
    Holds,
    /// The floor is clear.
    Clear {
        /// The height up to which it was asked for, millimetres.
        up_to_mm: f64,
        /// What is nearest.
        nearest: Neighbour,
    },
    /// No metal stands there.
    FreeOfMetal {
        /// The height up to which it was asked for, millimetres.
        up_to_mm: f64,
        /// The nearest metal obstruction in the bay, if there is one at these heights.
        nearest: Option<ObstructionId>,
    },
    /// The bay has no opening for daylight.
    NoDaylightOpening,

    /// Part of the zone lies outside of the bay.
    OutsideFloor {
        /// How much, square millimetres.
        outside_mm2: f64,
        /// How far it reaches out, millimetres.
        depth_mm: f64,
        /// The bay's edge it reaches over: the vertex at which the edge begins, from 0.
        beyond_edge: usize,
    },
    /// An obstruction stands in the zone.
    Obstructed {
        /// Which one.
        obstruction: ObstructionId,
        /// How much of the zone it takes, square millimetres.
        overlap_mm2: f64,
        /// The height at which it begins, millimetres.
        from_mm: f64,
        /// The height at which it ends, millimetres.
        to_mm: f64,
    },
    /// The ceiling is lower than the zone is high.
    CeilingLow,
    /// A metal obstruction stands in the zone.
    MetalInside {
        /// Which one.
        obstruction: ObstructionId,
        /// How much of the zone it takes, square millimetres.
        overlap_mm2: f64,
    },
    /// The floor slopes too much.
    SlopeTooSteep,
    /// The floor departs too far from its plane.
    FloorUneven,
    /// The light is too weak.
    TooDark,
    /// The light is too strong.
    TooBright,
    /// The light is too uneven.
    LightUneven,
    /// The light has the wrong colour.
    ColourOff,
    /// The zone has no shape for this vehicle.
    ZoneWithoutShape(Fault),

    /// The value lies nearer to its limit than the guard band.
    TooUncertain {
        /// The largest standard uncertainty with which it would be decided.
        largest_u_that_decides: Quantity,
    },
    /// The slope lies nearer to its limit than its uncertainty allows.
    HeightsTooUncertain {
        /// The largest standard uncertainty of the slope with which it would be decided.
        largest_u_that_decides: Quantity,
        /// The standard uncertainty of a height that would do, with as many points as there are,
        /// millimetres; none where no height is sure enough.
        height_u_mm: Option<f64>,
        /// How many points in the zone would do with heights as sure as they are, about; none where
        /// no number is worth it.
        points: Option<u32>,
    },
    /// The same, because the heights scatter about their plane by more than the instrument errs.
    HeightsScatter {
        /// The largest standard uncertainty of the slope with which it would be decided.
        largest_u_that_decides: Quantity,
        /// The standard deviation of the heights about their plane, millimetres.
        scatter_mm: f64,
        /// How many points in the zone would do, about; none where no number is worth it.
        points: Option<u32>,
    },
    /// The largest residual lies nearer to its limit than the guard band.
    ResidualTooUncertain {
        /// The largest standard uncertainty with which it would be decided.
        largest_u_that_decides: Quantity,
        /// Where it was measured.
        at: PointFloor,
    },
    /// The slope is left to the compensation of the target.
    LeftToCompensation,
    /// The target is set to the vehicle's own plane.
    Compensated {
        /// How far it is raised, millimetres; lowered when negative.
        raise_mm: f64,
    },
    /// The target would have to be set further than its stand reaches.
    BeyondStand {
        /// How far it would be raised, millimetres; lowered when negative.
        raise_mm: f64,
    },
    /// The floor under the tyres or the target was not surveyed.
    VehicleFloorNotSurveyed,
    /// There is no survey of the bay.
    NotSurveyed,
    /// The survey given is that of another bay.
    SurveyOfOtherBay {
        /// That bay.
        bay: BayId,
    },
    /// The bay's outline has changed since the survey.
    OutlineChanged,
    /// The survey was taken later than the day asked for.
    SurveyNotYetTaken {
        /// When it was taken.
        taken_on: NaiveDate,
    },
    /// The survey no longer counts.
    SurveyExpired {
        /// The first day on which it no longer counted.
        valid_until: NaiveDate,
    },
    /// Too few places were measured in the zone.
    TooFewPoints {
        /// How many there are.
        found: usize,
        /// How many it takes.
        needed: usize,
        /// Where to measure.
        more: MorePlaces,
    },
    /// All heights in the zone were measured along one line.
    PointsOnOneLine {
        /// How many there are.
        found: usize,
        /// Where to measure.
        more: MorePlaces,
    },
    /// Part of the zone lies outside of the surveyed points.
    NotSurveyedThere {
        /// The corner of the zone that lies furthest outside.
        at: PointFloor,
        /// Where to measure.
        more: MorePlaces,
    },
    /// The points are too far apart.
    PointsTooSparse {
        /// The place of the zone that is furthest from a point.
        at: PointFloor,
        /// How far, millimetres.
        distance_mm: f64,
        /// How far it may be, millimetres.
        distance_max_mm: f64,
        /// Where to measure.
        more: MorePlaces,
    },
    /// Too few light readings were taken in the zone.
    TooFewReadings {
        /// How many there are.
        found: usize,
        /// How many it takes.
        needed: usize,
        /// The plane asked for.
        plane: LightPlane,
        /// The height asked for, millimetres.
        height_mm: f64,
        /// The grid that is advised.
        grid: Option<LightGrid>,
        /// Where to read.
        more: MorePlaces,
    },
    /// All light readings in the zone were taken along one line.
    ReadingsOnOneLine {
        /// How many there are.
        found: usize,
        /// The grid that is advised.
        grid: Option<LightGrid>,
        /// Where to read.
        more: MorePlaces,
    },
    /// The light readings are too far apart.
    ReadingsTooSparse {
        /// The place of the zone that is furthest from a reading.
        at: PointFloor,
        /// How far, millimetres.
        distance_mm: f64,
        /// How far it may be, millimetres.
        distance_max_mm: f64,
        /// The grid that is advised.
        grid: Option<LightGrid>,
        /// Where to read.
        more: MorePlaces,
    },
    /// The light readings no longer count.
    LightExpired {
        /// The first day on which they no longer counted.
        valid_until: NaiveDate,
    },
    /// The light was read while lamps were out.
    LampsOut,
    /// The survey does not say which colour the light has.
    ColourNotMeasured,

    /// The sun may shine in; whether it does is seen at the vehicle.
    SunToConfirm {
        /// The height up to which it may not, millimetres.
        up_to_mm: f64,
        /// How many openings let daylight in.
        openings: usize,
    },
    /// The sun may shine into a sensor's field of view; whether it does is seen at the vehicle.
    SunInViewToConfirm {
        /// The field of view.
        view: SunFreeViewId,
        /// How many openings let daylight in.
        openings: usize,
    },
    /// Part of the zone lies outside of the bay, where the shop's drawing shows no metal.
    MetalBeyondBayToConfirm {
        /// How much, square millimetres.
        outside_mm2: f64,
    },
    /// Whether something moves is seen at the vehicle.
    RestToConfirm,
    /// Whether the background is plain is seen at the vehicle.
    BackgroundToConfirm,
}

/// What was found about one need.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The zone that has the need; none for the vehicle's own body.
    pub zone: Option<ZoneId>,
    /// What it is about.
    pub need: NeedKind,
    /// Whether it holds.
    pub verdict: Verdict,
    /// What was measured or computed.
    pub measured: Option<Quantity>,
    /// The limit that it was held against, the nearest one where there are two.
    pub limit: Option<Quantity>,
    /// How far inside of the limit it lies, negative beyond it.
    pub margin: Option<Quantity>,
    /// The standard uncertainty of what was measured, in its unit.
    pub uncertainty: Option<f64>,
    /// How sure the verdict has to be, where there is an uncertainty.
    pub conformance_probability: ConformanceProbability,
    /// Why the verdict is as it is.
    pub detail: Detail,
}

impl Finding {
    /// A finding without figures of its own; those of its detail aside.
    pub(super) fn plain(need: NeedKind, verdict: Verdict, detail: Detail) -> Self {
        Self {
            zone: None,
            need,
            verdict,
            measured: None,
            limit: None,
            margin: None,
            uncertainty: None,
            conformance_probability: ConformanceProbability::default(),
            detail,
        }
    }

    /// What the guard-band decision says about a measured value.
    pub(super) fn judged(
        (need, probability): (NeedKind, ConformanceProbability),
        measured: Quantity,
        uncertainty: f64,
        limits: Limits,
        fails: Detail,
    ) -> Self {
        let decision = decide(measured.value, uncertainty, limits, probability);
        let found = match decision {
            Decision::Conforms => (Verdict::Conforms, Detail::Holds),
            Decision::DoesNotConform => (Verdict::DoesNotConform, fails),
            Decision::Undecided { largest_u_that_decides: value } => {
                let largest_u_that_decides = Quantity { value, unit: measured.unit };
                (Verdict::Undecided, Detail::TooUncertain { largest_u_that_decides })
            }
        };
        Self::decided(need, measured, uncertainty, limits, found).with_probability(probability)
    }

    /// A measured value with the verdict on it.
    pub(super) fn decided(
        need: NeedKind,
        measured: Quantity,
        uncertainty: f64,
        limits: Limits,
        (verdict, detail): (Verdict, Detail),
    ) -> Self {
        let in_unit = |value: f64| Quantity { value, unit: measured.unit };
        Self {
            measured: Some(measured),
            limit: limits.nearest(measured.value).map(in_unit),
            margin: Some(in_unit(limits.margin(measured.value))),
            uncertainty: Some(uncertainty),
            ..Self::plain(need, verdict, detail)
        }
    }

    pub(super) fn with_probability(self, probability: ConformanceProbability) -> Self {
        Self { conformance_probability: probability, ..self }
    }

    pub(super) fn zone_without_shape(fault: Fault) -> Self {
        let detail = Detail::ZoneWithoutShape(fault);
        Self::plain(NeedKind::ZoneShape, Verdict::DoesNotConform, detail)
    }

    pub(super) fn of_zone(mut self, zone: &ZoneId) -> Self {
        self.zone = Some(zone.clone());
        self
    }

    /// The margin by which stations are compared: lengths in units of [`LENGTH_REFERENCE_MM`],
    /// everything else as a share of its limit; none for a finding without a margin.
    pub fn margin_relative(&self) -> Option<f64> {
        let margin = self.margin?;
        match margin.unit {
            Unit::Millimetre => Some(margin.value / LENGTH_REFERENCE_MM),
            Unit::Degree
            | Unit::Lux
            | Unit::Kelvin
            | Unit::Ratio
            | Unit::SquareMillimetre
            | Unit::Minute => {
                let limit = self.limit.filter(|limit| limit.value > 0.0)?;
                Some(margin.value / limit.value)
            }
        }
    }
}
