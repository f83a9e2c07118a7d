//! The earliest that the last finish of a shop of machines can be: each machine by itself, when its steps
//! may be interrupted, and groups of machines by the work that only they can do.
//!
//! Sources: Jackson's preemptive schedule as a bound, Carlier, "The one-machine sequencing problem",
//! European J. of Operational Research 11 (1982); for several machines the sum of the work over their
//! number between the least head and the least tail (Carlier 1987, from memory).

use super::Machines;

/// A step as one machine sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Operation {
    /// The earliest start.
    pub(super) head: i32,
    pub(super) minutes: i32,
    /// What is left of its job behind it, at least.
    pub(super) tail: i32,
}

/// No plan has its last finish earlier.
pub(super) fn last_finish(shop: &Machines) -> i32 {
    let operations = operations(shop);
    let chains = operations.iter().map(|o| o.head + o.minutes + o.tail).max().unwrap_or(0);
    let groups = groups(shop).into_iter().map(|group| {
        let work: Vec<Operation> =
            inside(shop, &group).into_iter().map(|step| operations[step]).collect();
        if group.len() == 1 { preemptive(&work) } else { shared(&work, group.len()).last }
    });
    groups.fold(chains, i32::max)
}

/// The steps that only machines of a group can do.
fn inside(shop: &Machines, group: &[usize]) -> Vec<usize> {
    let only = |step: &usize| {
        shop.choices[*step].iter().all(|choice| group.binary_search(&choice.machine).is_ok())
    };
    (0..shop.count()).filter(only).collect()
}

/// Machines, and steps that only they can do and for which alone they need so long that no plan has its last finish
/// before a minute; none where no group shows that. One machine's preemptive schedule ends no later than some of its steps
/// show by their least head, their work and their least tail (Carlier 1982).
pub(super) fn busiest(shop: &Machines, last: i32) -> Option<(Vec<usize>, Vec<usize>)> {
    let operations = operations(shop);
    groups(shop).into_iter().find_map(|group| {
        let mut steps = inside(shop, &group);
        let work: Vec<Operation> = steps.iter().map(|step| operations[*step]).collect();
        let window = shared(&work, group.len());
        let counts = |step: &usize| {
            let Operation { head, tail, .. } = operations[*step];
            head >= window.head && tail >= window.tail
        };
        steps.retain(counts);
        (window.last >= last).then_some((group, steps))
    })
}

/// Every step with the shortest ways before and behind it in its job.
fn operations(shop: &Machines) -> Vec<Operation> {
    let count = shop.count();
    let quickest = |step: usize| shop.choices[step].iter().map(|c| c.minutes).min().unwrap_or(0);
    let mut out: Vec<Operation> = Vec::with_capacity(count);
    for step in 0..count {
        let ready = shop.before(step).map_or(i32::MIN, |b| out[b].head + out[b].minutes);
        let head = ready.max(shop.release[step]);
        out.push(Operation { head, minutes: quickest(step), tail: 0 });
    }
    for step in (0..count).rev() {
        if let Some(after) = shop.after(step) {
            out[step].tail = out[after].minutes + out[after].tail;
        }
    }
    out
}

/// The groups of machines that some step can choose from, unions of two such groups, and all machines.
fn groups(shop: &Machines) -> Vec<Vec<usize>> {
    let of_step = |choices: &Vec<super::Choice>| {
        let mut group: Vec<usize> = choices.iter().map(|choice| choice.machine).collect();
        group.sort_unstable();
        group
    };
    let mut plain: Vec<Vec<usize>> = shop.choices.iter().map(of_step).collect();
    plain.sort();
    plain.dedup();
    let mut out = plain.clone();
    if plain.len() <= UNITED_MAX {
        for (at, one) in plain.iter().enumerate() {
            for other in &plain[..at] {
                let mut both: Vec<usize> = one.iter().chain(other).copied().collect();
                both.sort_unstable();
                both.dedup();
                out.push(both);
            }
        }
    }
    out.push((0..shop.machine_count).collect());
    out.sort();
    out.dedup();
    out
}

/// The most groups that are united two by two.
const UNITED_MAX: usize = 40;

/// The last finish, tails included, of one machine whose steps may be interrupted: always the step
/// with the longest tail of those that can go on.
pub(super) fn preemptive(work: &[Operation]) -> i32 {
    let mut by_head = work.to_vec();
    by_head.sort_by_key(|operation| operation.head);
    let mut coming = by_head.into_iter().peekable();
    let mut open = std::collections::BinaryHeap::new();
    let (mut now, mut last) = (i32::MIN, 0);
    loop {
        if open.is_empty() {
            let Some(first) = coming.peek() else { return last };
            now = now.max(first.head);
        }
        while let Some(next) = coming.next_if(|operation| operation.head <= now) {
            open.push((next.tail, next.minutes));
        }
        let Some((tail, minutes)) = open.pop() else { continue };
        let until = coming.peek().map_or(i32::MAX, |next| next.head);
        let worked = minutes.min(until - now);
        now += worked;
        if worked < minutes {
            open.push((tail, minutes - worked));
        } else {
            last = last.max(now + tail);
        }
    }
}

/// A last finish, and the least head and tail of the work that shows it.
#[derive(Debug, Clone, Copy, Default)]
struct Window {
    last: i32,
    head: i32,
    tail: i32,
}

/// The last finish, tails included, of several machines that share their work evenly.
fn shared(work: &[Operation], machines: usize) -> Window {
    let mut heads: Vec<i32> = work.iter().map(|operation| operation.head).collect();
    heads.sort_unstable();
    heads.dedup();
    let mut by_tail = work.to_vec();
    by_tail.sort_by_key(|operation| std::cmp::Reverse(operation.tail));
    let machines = i64::try_from(machines).unwrap_or(i64::MAX);
    let mut best = Window::default();
    for head in heads {
        let mut total = 0_i64;
        for operation in by_tail.iter().filter(|operation| operation.head >= head) {
            total += i64::from(operation.minutes);
            let even = (total + machines - 1) / machines;
            let last = i64::from(head) + even + i64::from(operation.tail);
            let last = i32::try_from(last).unwrap_or(0);
            if last > best.last {
                best = Window { last, head, tail: operation.tail };
            }
        }
    }
    best
}
