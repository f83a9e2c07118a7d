//! A shop, and a shop with everything that is written down about it.

use crate::hours::{exception_messages, open_hours};
use crate::reading::{Reading as _, whole};
use crate::technician::technician_from;
use crate::v1;
use baywright_core::calendar::TimeZone;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{ShopId, SpotId};
use baywright_core::shop::{
    PlanWeights, Shop, ShopDefinition, ShopDefinitionDraft, ShopDraft, SkyAssumed, Spot,
};

/// The most spots of a shop.
pub const SPOTS_MAX: usize = 200;
/// The most bays of a shop.
pub const BAYS_MAX: usize = 200;
/// The most vehicle classes of a shop.
pub const VEHICLE_CLASSES_MAX: usize = 500;
/// The most procedures of a shop.
pub const PROCEDURES_MAX: usize = 2_000;
/// The most call rules of a shop.
pub const CALL_RULES_MAX: usize = 2_000;
/// The most technicians of a shop.
pub const TECHNICIANS_MAX: usize = 500;
/// The most units of a shop.
pub const UNITS_MAX: usize = 2_000;
/// The most accounts of a shop.
pub const ACCOUNTS_MAX: usize = 2_000;

impl TryFrom<&v1::Shop> for Shop {
    type Error = Faults;

    fn try_from(message: &v1::Shop) -> Result<Self, Faults> {
        whole(|faults| draft(faults, message), Self::new, |fault| fault)
    }
}

fn draft(faults: &mut FaultList, message: &v1::Shop) -> Option<ShopDraft> {
    faults.count("spots", message.spots.len(), 0..=SPOTS_MAX);
    faults.line_or_empty("title", &message.title);
    let zone = faults.leaf("time_zone", TimeZone::parse(&message.time_zone));
    let zone = zone.unwrap_or(TimeZone::UTC);
    Some(ShopDraft {
        id: faults.name("shop_id", &message.shop_id, ShopId::new)?,
        title: message.title.clone(),
        latitude_deg: message.latitude_deg,
        longitude_deg: message.longitude_deg,
        sky: sky(message),
        bearing_deg: message.bearing_deg,
        hours: open_hours(faults, zone, "hours", message.hours.as_ref(), &message.exceptions)?,
        spots: faults.each("spots", &message.spots, |faults, spot| {
            let id = faults.name("spot_id", &spot.spot_id, SpotId::new)?;
            Some(Spot { id, capacity: spot.capacity })
        }),
        weights: message.weights.map(Into::into).unwrap_or_default(),
    })
}

fn sky(message: &v1::Shop) -> SkyAssumed {
    let usual = SkyAssumed::default();
    SkyAssumed {
        elevation_m: message.elevation_m.unwrap_or(usual.elevation_m),
        pressure_mbar: message.pressure_mbar.unwrap_or(usual.pressure_mbar),
        temperature_c: message.temperature_c.unwrap_or(usual.temperature_c),
        delta_t_s: message.delta_t_s.unwrap_or(usual.delta_t_s),
    }
}

impl From<&Shop> for v1::Shop {
    fn from(shop: &Shop) -> Self {
        let parts = shop.parts();
        let (sky, usual) = (parts.sky, SkyAssumed::default());
        #[expect(clippy::float_cmp, reason = "what was not stated is the default itself")]
        let stated = |value: f64, usual: f64| (value != usual).then_some(value);
        let spot = |spot: &Spot| v1::Spot { spot_id: spot.id.to_string(), capacity: spot.capacity };
        Self {
            shop_id: parts.id.to_string(),
            title: parts.title.clone(),
            time_zone: parts.hours.zone().name().to_owned(),
            latitude_deg: parts.latitude_deg,
            longitude_deg: parts.longitude_deg,
            bearing_deg: parts.bearing_deg,
            hours: Some(parts.hours.weekly().into()),
            exceptions: exception_messages(&parts.hours),
            spots: parts.spots.iter().map(spot).collect(),
            weights: Some(parts.weights.into()),
            elevation_m: stated(sky.elevation_m, usual.elevation_m),
            pressure_mbar: stated(sky.pressure_mbar, usual.pressure_mbar),
            temperature_c: stated(sky.temperature_c, usual.temperature_c),
            delta_t_s: stated(sky.delta_t_s, usual.delta_t_s),
        }
    }
}

impl From<v1::PlanWeights> for PlanWeights {
    fn from(message: v1::PlanWeights) -> Self {
        let v1::PlanWeights { lateness, finish, r#move, change, move_minutes } = message;
        let usual = Self::default();
        Self {
            lateness: lateness.unwrap_or(usual.lateness),
            finish: finish.unwrap_or(usual.finish),
            r#move: r#move.unwrap_or(usual.r#move),
            change: change.unwrap_or(usual.change),
            move_minutes: move_minutes.unwrap_or(usual.move_minutes),
        }
    }
}

impl From<PlanWeights> for v1::PlanWeights {
    fn from(weights: PlanWeights) -> Self {
        let PlanWeights { lateness, finish, r#move, change, move_minutes } = weights;
        Self {
            lateness: Some(lateness),
            finish: Some(finish),
            r#move: Some(r#move),
            change: Some(change),
            move_minutes: Some(move_minutes),
        }
    }
}

impl TryFrom<&v1::ShopDefinition> for ShopDefinition {
    type Error = Faults;

    /// Reads a whole definition.
    ///
    /// How its parts hang together is checked once each of them is sound: a part that was refused
    /// cannot be named by another.
    fn try_from(message: &v1::ShopDefinition) -> Result<Self, Faults> {
        whole(|faults| definition_draft(faults, message), Self::new, |fault| fault)
    }
}

fn definition_draft(
    faults: &mut FaultList,
    message: &v1::ShopDefinition,
) -> Option<ShopDefinitionDraft> {
    count_parts(faults, message);
    let zone = message.shop.as_ref().and_then(|shop| TimeZone::parse(&shop.time_zone).ok());
    let zone = zone.unwrap_or(TimeZone::UTC);
    let shop = faults
        .required("shop", message.shop.as_ref(), |faults, shop| faults.own(Shop::try_from(shop)));
    let bays = faults.each("bays", &message.bays, |faults, bay| faults.own(bay.try_into()));
    let classes = &message.vehicle_classes;
    let vehicle_classes =
        faults.each("vehicle_classes", classes, |faults, class| faults.own(class.try_into()));
    let procedures = faults.each("procedures", &message.procedures, |faults, procedure| {
        faults.own(procedure.try_into())
    });
    let call_rules =
        faults.each("call_rules", &message.call_rules, |faults, rule| faults.own(rule.try_into()));
    let technicians = faults.each("technicians", &message.technicians, |faults, technician| {
        faults.own(technician_from(technician, zone))
    });
    let units = faults.each("units", &message.units, |faults, unit| faults.own(unit.try_into()));
    let accounts = faults
        .each("accounts", &message.accounts, |faults, account| faults.own(account.try_into()));
    let draft = ShopDefinitionDraft {
        shop: shop?,
        bays,
        vehicle_classes,
        procedures,
        call_rules,
        technicians,
        units,
        accounts,
    };
    faults.is_empty().then_some(draft)
}

fn count_parts(faults: &mut FaultList, message: &v1::ShopDefinition) {
    faults.count("bays", message.bays.len(), 0..=BAYS_MAX);
    faults.count("vehicle_classes", message.vehicle_classes.len(), 0..=VEHICLE_CLASSES_MAX);
    faults.count("procedures", message.procedures.len(), 0..=PROCEDURES_MAX);
    faults.count("call_rules", message.call_rules.len(), 0..=CALL_RULES_MAX);
    faults.count("technicians", message.technicians.len(), 0..=TECHNICIANS_MAX);
    faults.count("units", message.units.len(), 0..=UNITS_MAX);
    faults.count("accounts", message.accounts.len(), 0..=ACCOUNTS_MAX);
}

impl From<&ShopDefinition> for v1::ShopDefinition {
    fn from(definition: &ShopDefinition) -> Self {
        let parts = definition.parts();
        Self {
            shop: Some((&parts.shop).into()),
            bays: parts.bays.iter().map(Into::into).collect(),
            vehicle_classes: parts.vehicle_classes.iter().map(Into::into).collect(),
            procedures: parts.procedures.iter().map(Into::into).collect(),
            call_rules: parts.call_rules.iter().map(Into::into).collect(),
            technicians: parts.technicians.iter().map(Into::into).collect(),
            units: parts.units.iter().map(Into::into).collect(),
            accounts: parts.accounts.iter().map(Into::into).collect(),
        }
    }
}
