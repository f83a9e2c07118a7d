//! Goes through the lessons of a proof: each must follow from the rules and the lessons before it.

use super::model::Model;
use super::rules::Bound;
use serde_json::Value;

/// Numbers in lessons lie between this and its negative.
const LARGEST: i64 = 1 << 50;

/// Whether no plan keeps the rules.
///
/// # Errors
/// A sentence that says which lesson does not follow, or that they leave plans.
pub(super) fn go_through(model: &mut Model<'_>, closing: &Value) -> Result<(), String> {
    let numbers = numbers(model, closing)?;
    let clauses = closing["clauses"].as_str().ok_or("the proof has no clauses")?;
    for (at, clause) in clauses.split(',').filter(|clause| !clause.is_empty()).enumerate() {
        if model.rules.impossible {
            break;
        }
        let place = || format!("lesson {} of the proof, \"{clause}\"", at + 1);
        let bounds: Option<Vec<Bound>> =
            clause.split(' ').map(|fact| bound(fact, &numbers)).collect();
        let bounds = bounds.ok_or_else(|| format!("{} cannot be read", place()))?;
        if !model.rules.follows(&bounds) {
            return Err(format!("{} does not follow from the problem's rules", place()));
        }
    }
    if model.rules.impossible {
        return Ok(());
    }
    Err("the proof's lessons leave plans that cost less than it states".to_owned())
}

fn numbers(model: &Model<'_>, closing: &Value) -> Result<Vec<usize>, String> {
    let names = closing["numbers"].as_str().ok_or("the proof names no numbers")?;
    let find = |name: &str| {
        let known = model.names.get(name).copied();
        known.ok_or_else(|| format!("the proof names \"{name}\", which the problem does not have"))
    };
    names.split(',').filter(|name| !name.is_empty()).map(find).collect()
}

fn bound(fact: &str, numbers: &[usize]) -> Option<Bound> {
    let of = |text: &str| {
        let at = text.parse::<usize>().ok()?.checked_sub(1)?;
        numbers.get(at).copied()
    };
    let value = |text: &str| text.parse().ok().filter(|value| (-LARGEST..LARGEST).contains(value));
    if let Some((number, least)) = fact.split_once('>') {
        return Some(Bound::AtLeast(of(number)?, value(least)?));
    }
    if let Some((number, most)) = fact.split_once('<') {
        return Some(Bound::AtMost(of(number)?, value(most)?));
    }
    match fact.strip_prefix('-') {
        Some(number) => Some(Bound::AtMost(of(number)?, 0)),
        None => Some(Bound::AtLeast(of(fact)?, 1)),
    }
}
