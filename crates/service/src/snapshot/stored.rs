//! What a shop's tables hold: read in one transaction, and converted outside of it.

use super::{ShopSnapshot, local_date};
use crate::{
    error::ServiceError,
    storage::{
        definitions as table,
        definitions::{Definition, Revision},
        shops,
        stamps::{Stamp, shop_stamp},
        surveys as survey_table,
    },
};
use baywright_api::{time::date_text, v1};
use baywright_core::{ids::BayId, shop::ShopDefinition, survey::Survey};
use chrono::{DateTime, NaiveDate, Utc};
use sea_orm::DatabaseTransaction;
use std::collections::BTreeMap;

/// What a shop's tables hold, before anything is computed from it.
#[derive(Debug)]
pub(super) struct Loaded {
    pub(super) stamp: Stamp,
    pub(super) date: NaiveDate,
    pub(super) definition: ShopDefinition,
    pub(super) revisions: BTreeMap<(&'static str, String), u32>,
    pub(super) surveys: BTreeMap<BayId, Survey>,
}

/// What a shop's tables hold, as it is stored.
pub(super) struct Stored {
    pub(super) stamp: Stamp,
    pub(super) date: NaiveDate,
    pub(super) definition: ShopDefinition,
    pub(super) revisions: BTreeMap<(&'static str, String), u32>,
    /// Each with whether the outline of its bay has changed since.
    pub(super) surveys: Vec<(v1::Survey, bool)>,
}

pub(super) async fn read(
    tx: &DatabaseTransaction,
    shop_id: &str,
    now: DateTime<Utc>,
) -> Result<Stored, ServiceError> {
    let stamp = shop_stamp(tx, shop_id).await?;
    let stamp = stamp.ok_or_else(|| ServiceError::not_found("shop", shop_id))?;
    let shop = shops::load_shop(tx, shop_id).await?.map(|(shop, _)| shop);
    let mut revisions = BTreeMap::new();
    let message = v1::ShopDefinition {
        shop,
        bays: noted(&mut revisions, table::current_definitions(tx, shop_id).await?),
        vehicle_classes: noted(&mut revisions, table::current_definitions(tx, shop_id).await?),
        procedures: noted(&mut revisions, table::current_definitions(tx, shop_id).await?),
        call_rules: noted(&mut revisions, table::current_definitions(tx, shop_id).await?),
        technicians: noted(&mut revisions, table::current_definitions(tx, shop_id).await?),
        units: noted(&mut revisions, table::current_definitions(tx, shop_id).await?),
        accounts: noted(&mut revisions, table::current_definitions(tx, shop_id).await?),
    };
    // What was stored had been checked; a fault here means that the file was tampered with.
    let definition = ShopDefinition::try_from(&message).map_err(ServiceError::internal)?;
    let date = local_date(&definition, now);
    let mut newest = survey_table::surveys_that_count(tx, shop_id, &date_text(date)).await?;
    for bay in &message.bays {
        if !newest.iter().any(|survey| survey.bay_id == bay.bay_id) {
            // One that no longer counts lets a finding say so, with its date.
            newest.extend(survey_table::newest_survey(tx, shop_id, &bay.bay_id).await?);
        }
    }
    let mut surveys = Vec::new();
    for survey in newest {
        let bay = message.bays.iter().find(|bay| bay.bay_id == survey.bay_id);
        let changed = match bay {
            Some(bay) => outline_changed_since(tx, shop_id, bay, &survey).await?,
            None => false,
        };
        surveys.push((survey, changed));
    }
    Ok(Stored { stamp, date, definition, revisions, surveys })
}

/// Surveys are converted once: they never change, and to lay a surface through many points takes a
/// while.
pub(super) fn load(stored: Stored, before: Option<&ShopSnapshot>) -> Result<Loaded, ServiceError> {
    let mut surveys = BTreeMap::new();
    for (message, changed) in &stored.surveys {
        let bay = BayId::new(&message.bay_id)?;
        let known = before.and_then(|old| old.survey(&bay)).filter(|old| {
            old.id().as_str() == message.survey_id && old.outline_has_changed() == *changed
        });
        let survey = if let Some(known) = known {
            known.clone()
        } else {
            let survey = Survey::try_from(message).map_err(ServiceError::internal)?;
            if *changed { survey.after_change_of_outline() } else { survey }
        };
        surveys.insert(bay, survey);
    }
    let Stored { stamp, date, definition, revisions, .. } = stored;
    Ok(Loaded { stamp, date, definition, revisions, surveys })
}

/// Whether the outline of a bay differs from what it was when a survey of it was recorded.
async fn outline_changed_since(
    tx: &DatabaseTransaction,
    shop_id: &str,
    bay: &v1::Bay,
    survey: &v1::Survey,
) -> Result<bool, ServiceError> {
    let Some(at) = survey_table::survey_recorded_at(tx, shop_id, survey).await? else {
        return Ok(false);
    };
    let then = table::definition_as_of::<v1::Bay>(tx, shop_id, &bay.bay_id, at).await?;
    Ok(then.is_some_and(|then| then.body.outline != bay.outline))
}

fn noted<T: Definition>(
    revisions: &mut BTreeMap<(&'static str, String), u32>,
    all: Vec<Revision<T>>,
) -> Vec<T> {
    all.into_iter()
        .map(|one| {
            revisions.insert((T::KIND, one.body.id().to_owned()), one.revision);
            one.body
        })
        .collect()
}
