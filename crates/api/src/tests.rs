//! Checks of all conversions together: what is refused under which path, and what goes there and
//! back unchanged.
#![cfg(test)]

mod example;
mod refusals;
mod refusals_of_sun;
mod round_trips;
mod strategies;
