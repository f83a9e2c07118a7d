//! Which minutes a sweep has to look at: between the first and the last start that is left to each way.

use super::net::{Arc, Layer, Start};
use super::sweep::Question;
use std::ops::Range;

/// Ranges of indices of a job's minutes.
#[derive(Debug, Default)]
pub(in crate::planner) struct Reach {
    /// Per way its starts, per crew those of all its ways, per state the ends of its last step.
    pub(super) ways: Vec<Range<usize>>,
    pub(super) crews: Vec<Range<usize>>,
    pub(super) states: Vec<Range<usize>>,
    stride: usize,
    /// Whether some step is fixed: then all minutes are looked at.
    whole: bool,
}

fn widen(one: &mut Range<usize>, other: Range<usize>) {
    if other.is_empty() {
        return;
    }
    *one = if Range::is_empty(one) {
        other
    } else {
        one.start.min(other.start)..one.end.max(other.end)
    };
}

impl Reach {
    pub(super) fn set(&mut self, ask: Question<'_>, stride: usize) {
        let net = ask.net;
        self.stride = stride;
        self.whole = net
            .layers
            .iter()
            .flat_map(|layer| &layer.arcs)
            .any(|a| matches!(a.start, Start::Fixed(_)));
        let blank = if self.whole { 0..stride } else { 0..0 };
        let starts = ask.domain.starts.iter().map(|spans| {
            let (Some(first), Some(last)) = (spans.first(), spans.last()) else { return 0..0 };
            ask.range(*first).start..ask.range(*last).end
        });
        self.ways.clear();
        self.ways.extend(starts);
        self.crews.clear();
        self.crews.resize(net.crews.len(), 0..0);
        for (way, starts) in net.ways.iter().zip(&self.ways) {
            widen(&mut self.crews[way.crew], starts.clone());
        }
        self.states.clear();
        self.states.resize(net.states.len(), blank);
        if self.whole {
            return;
        }
        for arc in net.layers.iter().flat_map(|layer| &layer.arcs) {
            let Start::Way(way) = arc.start else { continue };
            let (starts, minutes) = (&self.ways[way], net.ways[way].minutes);
            if !starts.is_empty() {
                widen(&mut self.states[arc.to], starts.start + minutes..starts.end + minutes);
            }
        }
    }

    /// Whether no start is left to an arc.
    pub(super) fn is_shut(&self, arc: &Arc) -> bool {
        matches!(arc.start, Start::Way(way) if self.ways[way].is_empty())
    }

    /// What matters of a layer: the ends of its states and the starts from there.
    pub(super) fn window(&self, layer: &Layer) -> Range<usize> {
        if self.whole {
            return 0..self.stride;
        }
        let mut window = 0..0;
        for state in layer.states.clone() {
            widen(&mut window, self.states[state].clone());
        }
        for arc in &layer.arcs {
            if let Start::Way(way) = arc.start {
                widen(&mut window, self.ways[way].clone());
            }
        }
        window
    }
}
