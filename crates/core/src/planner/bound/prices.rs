//! What each unit costs in each minute, as whole numbers, and the sums that a sweep reads.

use super::units::Units;
use crate::planner::span::Span;

/// Prices per unit and minute, 0 or more, in parts of the cost's unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::planner) struct Prices {
    /// The first minute with a price, and how many minutes have one.
    pub(in crate::planner) origin: i64,
    pub(in crate::planner) len: usize,
    /// Unit by unit.
    pub(in crate::planner) of: Vec<i64>,
}

impl Prices {
    pub(in crate::planner) fn none(units: &Units, origin: i64, len: usize) -> Self {
        Self { origin, len, of: vec![0; units.count() * len] }
    }

    pub(in crate::planner) fn unit(&self, unit: usize) -> &[i64] {
        &self.of[unit * self.len..(unit + 1) * self.len]
    }

    /// The indices of the minutes of a span that have a price.
    pub(in crate::planner) fn within(&self, span: Span) -> std::ops::Range<usize> {
        let len = super::super::check::as_i64(self.len);
        let at = |minute: i64| super::net::index((minute - self.origin).clamp(0, len));
        at(span.start)..at(span.end)
    }

    pub(in crate::planner) fn total(&self) -> i64 {
        self.of.iter().sum()
    }
}

/// Running sums of prices: per resource and per place, `len + 1` numbers each.
#[derive(Debug, Clone, Default)]
pub(in crate::planner) struct Tariff {
    pub(super) origin: i64,
    pub(super) stride: usize,
    resources: Vec<i64>,
    places: Vec<i64>,
}

impl Tariff {
    pub(in crate::planner) fn set(&mut self, units: &Units, prices: &Prices) {
        self.origin = prices.origin;
        self.stride = prices.len + 1;
        self.resources.clear();
        for resource in 0..units.resources {
            let mut sum = 0;
            self.resources.push(0);
            for price in prices.unit(resource) {
                sum += price;
                self.resources.push(sum);
            }
        }
        self.places.clear();
        for groups in &units.of_place {
            let mut sum = 0;
            self.places.push(0);
            for minute in 0..prices.len {
                sum += groups.iter().map(|group| prices.unit(*group)[minute]).sum::<i64>();
                self.places.push(sum);
            }
        }
    }

    pub(super) fn resource(&self, resource: usize) -> &[i64] {
        &self.resources[resource * self.stride..(resource + 1) * self.stride]
    }

    pub(super) fn place(&self, place: usize) -> &[i64] {
        &self.places[place * self.stride..(place + 1) * self.stride]
    }
}
