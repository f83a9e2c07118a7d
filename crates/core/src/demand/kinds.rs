//! The trade's kinds: of sensors, of work, of places to work and of prerequisites.
//!
//! Each kind has one spelling, used in files, contract, storage and on the command line.

/// Declares enums whose every variant has one spelling.
macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident ($field:literal) { $($(#[$vdoc:meta])* $variant:ident = $text:literal,)+ })+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vdoc])* $variant,)+ }

        impl $name {
            /// Every kind, in the order declared.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The one spelling.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $text,)+ }
            }

            /// Reads the one spelling.
            ///
            /// # Errors
            /// A fault that lists the spellings there are.
            pub fn parse(text: &str) -> Result<Self, $crate::fault::Faults> {
                Self::ALL.iter().copied().find(|kind| kind.as_str() == text).ok_or_else(|| {
                    let known: Vec<_> = Self::ALL.iter().map(|kind| kind.as_str()).collect();
                    $crate::fault::Fault::new(
                        $field,
                        format!("\"{text}\""),
                        format!("be one of {}", known.join(", ")),
                        "use one of these spellings",
                    )
                    .into()
                })
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.as_str())
            }
        }
    )+};
}

pub(crate) use kinds;

kinds! {
    /// The family of a driver-assistance sensor.
    SensorFamily ("sensor") {
        /// Camera behind the windshield.
        FrontCamera = "front-camera",
        /// Radar behind grille or bumper.
        FrontRadar = "front-radar",
        /// Radars behind the rear bumper's corners.
        RearCornerRadar = "rear-corner-radar",
        /// Cameras all around.
        SurroundView = "surround-view",
        /// Laser scanner.
        Lidar = "lidar",
        /// Thermal camera.
        NightVision = "night-vision",
        /// The steering column's angle sensor.
        SteeringAngle = "steering-angle",
    }

    /// The kind of one piece of work.
    TaskKind ("kind") {
        /// A look at vehicle and history.
        Inspection = "inspection",
        /// Reading all control units before work.
        PreScan = "pre-scan",
        /// Glass replaced.
        Glass = "glass",
        /// Wheel alignment.
        Alignment = "alignment",
        /// Aiming a sensor.
        Calibration = "calibration",
        /// A drive on the road that proves or completes the work.
        RoadDrive = "road-drive",
        /// Reading all control units after work.
        PostScan = "post-scan",
        /// Work done here by somebody from outside.
        VendorVisit = "vendor-visit",
    }

    /// Where a piece of work is done.
    WorkPlace ("work_place") {
        /// In a bay that fits.
        Bay = "bay",
        /// On the road.
        Road = "road",
        /// Wherever the vehicle stands; no place is held.
        Anywhere = "anywhere",
    }

    /// The kind of a state of the world that gates tasks.
    PrerequisiteKind ("kind") {
        /// The vehicle is in the shop.
        VehicleOnSite = "vehicle-on-site",
        /// The customer or insurer said yes.
        Authorised = "authorised",
        /// The parts are here.
        PartsReceived = "parts-received",
        /// The wheels are aligned.
        AlignmentDone = "alignment-done",
        /// No control unit holds a code that forbids calibration.
        NoBlockingCodes = "no-blocking-codes",
        /// All tyres at placard pressure, by gauge, cold.
        TyresByGauge = "tyres-by-gauge",
        /// The steering is centred.
        SteeringCentred = "steering-centred",
        /// The glass before the camera is clean, inside and out.
        GlassClean = "glass-clean",
        /// The glass is in place.
        GlassReplaced = "glass-replaced",
        /// Fuel and load as the procedure's document says.
        FuelAndLoad = "fuel-and-load",
        /// Nothing about the vehicle was modified that the procedure forbids.
        NoModifications = "no-modifications",
        /// Body and bumper work near the sensor is finished.
        BodyworkDone = "bodywork-done",
        /// The steering-angle zero is set.
        SteeringAngleZero = "steering-angle-zero",
        /// Something else, described in the prerequisite's text.
        Other = "other",
    }
}
