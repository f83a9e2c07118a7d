//! Which bay can host which work, with every number.

use super::{
    fit_details::{Wants, detailed},
    page::{PageSizes, page_key, page_size},
    roads::date_near,
};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::{FitKey, ShopSnapshot, place_of},
};
use baywright_api::{
    fit::{FitAsked, fit_message},
    sun::sun_message,
    v1,
};
use baywright_core::{
    fit::Fit,
    ids::{BayId, MethodId, ProcedureId, VehicleClassId},
    survey::Survey,
};
use chrono::NaiveDate;
use std::ops::Bound;

const PAGES: PageSizes = PageSizes { usual: 200, most: 1000 };
/// Where details are computed for each fit.
const DETAILED_PAGES: PageSizes = PageSizes { usual: 50, most: 100 };

/// Lists the fits of a shop as of now.
///
/// # Errors
/// No such shop, procedure, vehicle class or bay; a page size or token that is none.
pub async fn list_fits(
    app: &App,
    request: v1::ListFitsRequest,
) -> Result<v1::ListFitsResponse, ServiceError> {
    let detail = request.with_room || request.with_nearest_misses;
    let pages = if detail { DETAILED_PAGES } else { PAGES };
    let size = page_size(request.page_size, pages)?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let snapshot = app.snapshot(&request.shop_id, app.clock.now()).await?;
    known(&snapshot, &request)?;
    let date = date_near(&snapshot, "sun_date", &request.sun_date)?;
    let (room, misses) = (request.with_room, request.with_nearest_misses);
    let wants = Wants { room, misses, sun_date: date };
    let after = page_key(&request.page_token, read_key)?;
    let from = after.map_or(Bound::Unbounded, Bound::Excluded);
    let mut wanted = snapshot.fits().range((from, Bound::Unbounded)).filter(|(key, _)| {
        let (procedure, _, class, bay) = key;
        let asks = |filter: &str, name: &str| filter.is_empty() || filter == name;
        asks(&request.procedure_id, procedure.as_str())
            && asks(&request.vehicle_class_id, class.as_str())
            && asks(&request.bay_id, bay.as_str())
    });
    let mut fits: Vec<(FitKey, v1::Fit)> = Vec::new();
    let mut last = None;
    for (key, fit) in wanted.by_ref().take(size) {
        let survey = snapshot.survey(&key.3).map(Survey::id);
        let (procedure, method, vehicle_class, bay) = key;
        let asked = FitAsked { procedure, method, vehicle_class, bay, survey };
        let sun = sun_of(&snapshot, key, fit, date);
        let message = fit_message(asked, fit).map(|message| v1::Fit { sun, ..message });
        fits.extend(message.map(|message| (key.clone(), message)));
        last = Some(key);
    }
    let more = wanted.next().is_some();
    let next_page_token = last.filter(|_| more).map(token_of).unwrap_or_default();
    drop(wanted);
    let fits = detailed(&snapshot, fits, wants).await?;
    Ok(v1::ListFitsResponse { fits, next_page_token })
}

/// The sun at the placement; none where the bay does not fit.
fn sun_of(
    snapshot: &ShopSnapshot,
    (procedure, method, class, _): &FitKey,
    fit: &Fit,
    date: NaiveDate,
) -> Option<v1::SunHours> {
    let Fit::Fits(placement) = fit else { return None };
    let procedure = snapshot.definition().procedure(procedure)?;
    let method = procedure.methods().iter().find(|known| known.id() == method)?;
    let answer = snapshot.sun_at((procedure, method), class, &place_of(placement), date)?;
    let zone = snapshot.definition().parts().shop.parts().hours.zone();
    Some(sun_message(&answer, date, zone))
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
