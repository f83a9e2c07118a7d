//! Which bay can host which work, with every number.

use super::page::{PageSizes, page_key, page_size};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::{FitKey, ShopSnapshot},
};
use baywright_api::{
    fit::{FitAsked, fit_message},
    v1,
};
use baywright_core::{
    ids::{BayId, MethodId, ProcedureId, VehicleClassId},
    survey::Survey,
};
use std::ops::Bound;

const PAGES: PageSizes = PageSizes { usual: 200, most: 1000 };

/// Lists the fits of a shop as of now.
///
/// # Errors
/// No such shop, procedure, vehicle class or bay; a page size or token that is none.
pub async fn list_fits(
    app: &App,
    request: v1::ListFitsRequest,
) -> Result<v1::ListFitsResponse, ServiceError> {
    let size = page_size(request.page_size, PAGES)?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let snapshot = app.snapshot(&request.shop_id, app.clock.now()).await?;
    known(&snapshot, &request)?;
    let after = page_key(&request.page_token, read_key)?;
    let from = after.map_or(Bound::Unbounded, Bound::Excluded);
    let mut wanted = snapshot.fits().range((from, Bound::Unbounded)).filter(|(key, _)| {
        let (procedure, _, class, bay) = key;
        let asks = |filter: &str, name: &str| filter.is_empty() || filter == name;
        asks(&request.procedure_id, procedure.as_str())
            && asks(&request.vehicle_class_id, class.as_str())
            && asks(&request.bay_id, bay.as_str())
    });
    let mut fits = Vec::new();
    let mut last = None;
    for (key, fit) in wanted.by_ref().take(size) {
        let survey = snapshot.survey(&key.3).map(Survey::id);
        let (procedure, method, vehicle_class, bay) = key;
        fits.extend(fit_message(FitAsked { procedure, method, vehicle_class, bay, survey }, fit));
        last = Some(key);
    }
    let more = wanted.next().is_some();
    let next_page_token = last.filter(|_| more).map(token_of).unwrap_or_default();
    Ok(v1::ListFitsResponse { fits, next_page_token })
}

/// Refuses names that the shop does not have: a list of nothing must not hide a mistyped one.
fn known(shop: &ShopSnapshot, request: &v1::ListFitsRequest) -> Result<(), ServiceError> {
    let parts = shop.definition().parts();
    let procedures = parts.procedures.iter().map(|one| one.id().as_str()).collect();
    let classes = parts.vehicle_classes.iter().map(|one| one.id().as_str()).collect();
    let bays = parts.bays.iter().map(|one| one.id().as_str()).collect();
    let asked: [(_, &str, Vec<&str>); 3] = [
        ("procedure", &request.procedure_id, procedures),
        ("vehicle class", &request.vehicle_class_id, classes),
        ("bay", &request.bay_id, bays),
    ];
    for (kind, name, known) in asked {
        if !name.is_empty() && !known.contains(&name) {
            return Err(ServiceError::not_found(kind, name));
        }
    }
    Ok(())
}

/// The key in a page token. It need not be in the shop any more.
fn read_key(token: &str) -> Option<FitKey> {
    let mut names = token.split('/');
    let key = (
        ProcedureId::new(names.next()?).ok()?,
        MethodId::new(names.next()?).ok()?,
        VehicleClassId::new(names.next()?).ok()?,
        BayId::new(names.next()?).ok()?,
    );
    names.next().is_none().then_some(key)
}

fn token_of((procedure, method, class, bay): &FitKey) -> String {
    format!("{procedure}/{method}/{class}/{bay}")
}
