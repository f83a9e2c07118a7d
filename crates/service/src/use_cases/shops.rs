//! Applying what is written down about a shop, and reading it.

use super::estimates::inside;
use crate::{
    app::App,
    error::ServiceError,
    storage::{
        Done,
        definitions::{self as table, Definition, Put},
        shops as shop_table,
    },
};
use baywright_api::v1;
use baywright_core::{fault::Fault, shop::ShopDefinition};
use chrono::{DateTime, Utc};
use prost::Message as _;
use sea_orm::DatabaseTransaction;
use std::collections::BTreeSet;

/// Applies a whole shop definition in one step, or says what would change.
///
/// # Errors
/// Every fault of the definition at once; nothing is applied then.
pub async fn apply_shop(
    app: &App,
    request: v1::ApplyShopRequest,
) -> Result<v1::ApplyShopResponse, ServiceError> {
    let now = app.clock.now();
    let message = request.definition.as_ref().ok_or_else(|| {
        Fault::new("definition", "absent", "be given", "send the whole definition")
    })?;
    let definition =
        ShopDefinition::try_from(message).map_err(|faults| inside("definition", faults))?;
    // What is stored is what the core understood, so that equal definitions are equal bytes.
    let stored = v1::ShopDefinition::from(&definition);
    if request.validate_only {
        let input = (stored, now);
        return app
            .database
            .rehearse(input, |tx, (stored, now)| {
                Box::pin(async move { Ok(apply(tx, stored, *now).await?.0) })
            })
            .await;
    }
    let call = App::call(&request, now)?;
    app.database
        .exactly_once(call, (stored, now), |tx, (stored, now)| {
            Box::pin(async move {
                let (reply, audit) = apply(tx, stored, *now).await?;
                let mut done = Done::new(reply);
                for (kind, id, before, after) in audit {
                    done = done.changed_bytes(kind, id, before, after);
                }
                Ok(done)
            })
        })
        .await
}

type Changed = (&'static str, String, Option<Vec<u8>>, Option<Vec<u8>>);

async fn apply(
    tx: &DatabaseTransaction,
    definition: &v1::ShopDefinition,
    now: DateTime<Utc>,
) -> Result<(v1::ApplyShopResponse, Vec<Changed>), ServiceError> {
    let Some(shop) = &definition.shop else {
        return Err(ServiceError::internal("a checked definition has no shop"));
    };
    let mut changes = Changes::default();
    let before = shop_table::load_shop(tx, &shop.shop_id).await?.map(|(shop, _)| shop);
    let put = shop_table::put_shop(tx, shop, now).await?;
    let bytes = (before.map(|shop| shop.encode_to_vec()), Some(shop.encode_to_vec()));
    changes.note("shop", &shop.shop_id, put, bytes);
    let shop_id = &shop.shop_id;
    put_all(tx, shop_id, &definition.bays, now, &mut changes).await?;
    put_all(tx, shop_id, &definition.vehicle_classes, now, &mut changes).await?;
    put_all(tx, shop_id, &definition.procedures, now, &mut changes).await?;
    put_all(tx, shop_id, &definition.call_rules, now, &mut changes).await?;
    put_all(tx, shop_id, &definition.technicians, now, &mut changes).await?;
    put_all(tx, shop_id, &definition.units, now, &mut changes).await?;
    put_all(tx, shop_id, &definition.accounts, now, &mut changes).await?;
    Ok((v1::ApplyShopResponse { changes: changes.list }, changes.audit))
}

#[derive(Debug, Default)]
struct Changes {
    list: Vec<v1::DefinitionChange>,
    audit: Vec<Changed>,
}

impl Changes {
    fn note(
        &mut self,
        kind: &'static str,
        id: &str,
        put: Put,
        (before, after): (Option<Vec<u8>>, Option<Vec<u8>>),
    ) {
        let change = match put {
            Put::Unchanged { .. } => return,
            Put::Added { .. } => v1::ChangeKind::Added,
            Put::Replaced { .. } => v1::ChangeKind::Replaced,
        };
        self.push(kind, id, change, put.revision());
        self.audit.push((kind, id.to_owned(), before, after));
    }

    fn push(&mut self, kind: &str, id: &str, change: v1::ChangeKind, revision: u32) {
        self.list.push(v1::DefinitionChange {
            kind: kind.to_owned(),
            id: id.to_owned(),
            change: change.into(),
            revision,
        });
    }
}

async fn put_all<T: Definition + Send + Sync>(
    tx: &DatabaseTransaction,
    shop_id: &str,
    things: &[T],
    now: DateTime<Utc>,
    changes: &mut Changes,
) -> Result<(), ServiceError> {
    let before = table::current_definitions::<T>(tx, shop_id).await?;
    for thing in things {
        let put = table::put_definition(tx, shop_id, thing, now).await?;
        let old = before.iter().find(|old| old.body.id() == thing.id());
        let bytes = (old.map(|old| old.body.encode_to_vec()), Some(thing.encode_to_vec()));
        changes.note(T::KIND, thing.id(), put, bytes);
    }
    let kept: BTreeSet<&str> = things.iter().map(Definition::id).collect();
    for old in before.iter().filter(|old| !kept.contains(old.body.id())) {
        table::retire_definition::<T>(tx, shop_id, old.body.id(), now).await?;
        changes.push(T::KIND, old.body.id(), v1::ChangeKind::Retired, old.revision);
        let bytes = Some(old.body.encode_to_vec());
        changes.audit.push((T::KIND, old.body.id().to_owned(), bytes, None));
    }
    Ok(())
}

/// Reads a shop with everything that is written down about it now.
///
/// # Errors
/// No such shop.
pub async fn get_shop(
    app: &App,
    request: v1::GetShopRequest,
) -> Result<v1::GetShopResponse, ServiceError> {
    let snapshot = app.snapshot(&request.shop_id, app.clock.now()).await?;
    Ok(v1::GetShopResponse { definition: Some(snapshot.definition().into()) })
}
