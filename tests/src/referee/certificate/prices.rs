//! The prices of a certificate over the problem's minutes, and what fixed steps leave free.

use super::day::{Day, Windows, list, text};
use serde_json::Value;

/// Running sums of prices, and the minutes that are not for sale.
pub(super) struct Prices {
    pub(super) scale: i128,
    /// The sum of all prices.
    pub(super) paid: i128,
    first: i64,
    /// Per place and per resource, running sums from the first minute on.
    places: Vec<Vec<i128>>,
    resources: Vec<Vec<i128>>,
}

/// Reads what a certificate says.
pub(super) fn read(day: &Day, certificate: &Value) -> Result<Prices, String> {
    let scale = certificate["scale"].as_i64().filter(|scale| *scale > 0);
    let scale = scale.ok_or("there is no certificate, or none with a scale")?;
    let release = day.jobs.iter().map(|job| job.release).min().unwrap_or(0);
    let first = day.now.max(release).min(day.horizon);
    let length = usize::try_from(day.horizon - first).map_err(|error| error.to_string())?;
    let mut prices = Prices {
        scale: i128::from(scale),
        paid: 0,
        first,
        places: vec![vec![0; length]; day.places.len()],
        resources: vec![vec![0; length]; day.resources.len()],
    };
    for unit in list(&certificate["prices"]) {
        prices.add(day, unit)?;
    }
    for of in prices.places.iter_mut().chain(&mut prices.resources) {
        let mut sum = 0;
        let before = of.iter().map(|price| {
            sum += price;
            sum
        });
        *of = std::iter::once(0).chain(before).collect();
    }
    Ok(prices)
}

impl Prices {
    fn add(&mut self, day: &Day, unit: &Value) -> Result<(), String> {
        let unknown = |id: &str| format!("a price for the unknown {id}");
        let resource = match unit["resource"].as_str() {
            Some(id) => Some(day.resource(id).ok_or_else(|| unknown(id))?),
            None => None,
        };
        let mut group = Vec::new();
        for place in list(&unit["places"]).iter().map(text).filter(|_| resource.is_none()) {
            let place = day.place(place).ok_or_else(|| unknown(place))?;
            if group.iter().any(|other| !day.clash(*other, place)) {
                return Err(format!("the group {} has places that do not clash", unit["places"]));
            }
            group.push(place);
        }
        for run in text(&unit["runs"]).split(',').filter(|run| !run.is_empty()) {
            let numbers: Vec<i64> = run.split(' ').filter_map(|part| part.parse().ok()).collect();
            let [from, to, price] = numbers[..] else { return Err(format!("no run: {run}")) };
            if price < 0 || from < self.first || to > day.horizon || from > to {
                return Err(format!("a run outside what may be priced: {run}"));
            }
            self.paid += i128::from(price) * i128::from(to - from);
            let (from, to) = (self.at(from), self.at(to));
            let of = resource.map(|resource| &mut self.resources[resource]);
            let of = of.into_iter().chain(
                self.places
                    .iter_mut()
                    .enumerate()
                    .filter(|at| group.contains(&at.0))
                    .map(|at| at.1),
            );
            of.flat_map(|of| &mut of[from..to]).for_each(|minute| *minute += i128::from(price));
        }
        Ok(())
    }

    fn at(&self, minute: i64) -> usize {
        usize::try_from(minute - self.first).unwrap_or(0)
    }

    pub(super) fn place(&self, place: usize, from: i64, to: i64) -> i128 {
        self.between(&self.places[place], from, to)
    }

    pub(super) fn resource(&self, resource: usize, from: i64, to: i64) -> i128 {
        self.between(&self.resources[resource], from, to)
    }

    fn between(&self, sums: &[i128], from: i64, to: i64) -> i128 {
        let at = |minute: i64| self.at(minute).min(sums.len() - 1);
        sums[at(to.max(from))] - sums[at(from)]
    }
}

/// Whether fixed steps of other jobs leave a place alone, also where it clashes.
pub(super) fn place_alone(day: &Day, job: usize, place: usize, from: i64, to: i64) -> bool {
    !day.held.iter().any(|(other, held, span)| {
        *other != job && day.meet(*held, place) && span.0 < to && from < span.1
    })
}

/// Whether a place is open and left alone.
pub(super) fn place_free(day: &Day, job: usize, place: usize, from: i64, to: i64) -> bool {
    inside(&day.places[place].open, from, to) && place_alone(day, job, place, from, to)
}

/// Whether a resource is open and no fixed step uses it.
pub(super) fn resource_free(day: &Day, resource: usize, from: i64, to: i64) -> bool {
    let serves =
        |(used, span): &(usize, (i64, i64))| *used == resource && span.0 < to && from < span.1;
    inside(&day.resources[resource].open, from, to) && !day.used.iter().any(serves)
}

fn inside(open: &Windows, from: i64, to: i64) -> bool {
    open.iter().any(|(open, close)| *open <= from && to <= *close)
}
