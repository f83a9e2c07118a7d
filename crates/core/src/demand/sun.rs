//! What a method asks of the sun besides its zones: not in a sensor's view, and daylight on the road.

use super::{VehicleClass, WorkPlace, ZONE_OFFSET_MM_MAX, ZoneVertex};
use crate::axes::PoseFloor;
use crate::daylight::{Elevation, SensorView, SunTarget};
use crate::draft_checks::{at_most, unique};
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::SunFreeViewId;

/// The most fields of view of a method.
pub const SUN_FREE_VIEWS_MAX: usize = 10;
/// The greatest height of a sensor above the floor, millimetres.
const SENSOR_HEIGHT_MM_MAX: f64 = 10_000.0;
/// The least elevation of the sun that a procedure may ask for, degrees: the end of dusk.
const SUN_ELEVATION_MIN_DEG: f64 = -18.0;

/// A sensor's field of view into which the sun must not shine.
#[derive(Debug, Clone, PartialEq)]
pub struct SunFreeView {
    /// Its name, unique within the method.
    pub id: SunFreeViewId,
    /// Where the sensor is.
    pub apex: ZoneVertex,
    /// Its height above the floor, 0 to 10000 mm.
    pub height_mm: f64,
    /// Degrees counter-clockwise from vehicle +x to the axis of the view, -360 to 360.
    pub heading_deg: f64,
    /// Degrees by which the axis points above the horizontal, -90 to 90.
    pub pitch_deg: f64,
    /// Degrees from the axis to either side.
    pub half_angle_horizontal_deg: f64,
    /// Degrees from the axis up and down.
    pub half_angle_vertical_deg: f64,
}

impl SunFreeView {
    /// The view where it lies when a vehicle stands at a pose.
    pub fn placed(&self, vehicle: &VehicleClass, pose: &PoseFloor) -> SensorView {
        let apex = pose.to_floor(self.apex.offset_vehicle(vehicle));
        SensorView {
            x_mm: apex.x_mm,
            y_mm: apex.y_mm,
            height_mm: self.height_mm,
            // The sum of two headings within a turn each may leave the range of one.
            heading_deg: (pose.heading_deg() + self.heading_deg).rem_euclid(360.0),
            pitch_deg: self.pitch_deg,
            half_angle_horizontal_deg: self.half_angle_horizontal_deg,
            half_angle_vertical_deg: self.half_angle_vertical_deg,
        }
    }

    fn check(&self) -> Result<(), Faults> {
        let mut faults = FaultList::new();
        let most = ZONE_OFFSET_MM_MAX;
        faults.number_within("apex.x_mm", self.apex.x_mm, -most, most, "mm");
        faults.number_within("apex.y_mm", self.apex.y_mm, -most, most, "mm");
        if self.height_mm > SENSOR_HEIGHT_MM_MAX {
            faults.number_within("height_mm", self.height_mm, 0.0, SENSOR_HEIGHT_MM_MAX, "mm");
        }
        let at_the_origin = SensorView {
            x_mm: 0.0,
            y_mm: 0.0,
            height_mm: self.height_mm.min(SENSOR_HEIGHT_MM_MAX),
            heading_deg: self.heading_deg,
            pitch_deg: self.pitch_deg,
            half_angle_horizontal_deg: self.half_angle_horizontal_deg,
            half_angle_vertical_deg: self.half_angle_vertical_deg,
        };
        let _checked: Option<SunTarget> = faults.take("", SunTarget::sensor(at_the_origin));
        faults.finish(())
    }
}

/// What a method asks of the sun besides its zones.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SunDemand {
    /// Fields of view into which the sun must not shine while the run lasts; only for work in a bay.
    pub views: Vec<SunFreeView>,
    /// The least true elevation of the sun while the run lasts, degrees; only for work on the road.
    pub elevation_min_deg: Option<f64>,
}

impl SunDemand {
    /// The daylight that is asked for on the road.
    pub fn elevation_min(&self) -> Option<Elevation> {
        self.elevation_min_deg.and_then(|degrees| Elevation::from_degrees(degrees).ok())
    }

    /// Notes every fault under the fields of a method.
    pub(super) fn check(&self, faults: &mut FaultList, place: WorkPlace) {
        at_most(faults, "sun_free_views", self.views.len(), SUN_FREE_VIEWS_MAX);
        unique(faults, "sun_free_views", self.views.iter().map(|view| &view.id));
        for (at, view) in self.views.iter().enumerate() {
            let _checked: Option<()> = faults.take(&format!("sun_free_views[{at}]"), view.check());
        }
        if place != WorkPlace::Bay && !self.views.is_empty() {
            faults.push(Fault::new(
                "sun_free_views",
                format!("a list of {}", self.views.len()),
                format!("be empty for work done at the place \"{place}\""),
                "set the place to \"bay\" or leave the views out",
            ));
        }
        if let Some(degrees) = self.elevation_min_deg {
            let field = "sun_elevation_min_deg";
            faults.number_within(field, degrees, SUN_ELEVATION_MIN_DEG, 90.0, "degrees");
            if place != WorkPlace::Road {
                faults.push(Fault::new(
                    field,
                    degrees,
                    format!("be left out for work done at the place \"{place}\""),
                    "set the place to \"road\" or leave it out",
                ));
            }
        }
    }
}
