//! What one step takes: one of its options, one resource for each need, a start that both allow.

use super::super::engine::{Fact, Number, SURE};
use super::{Name, StepCode, Writer};
use crate::planner::check::as_i64;
use crate::planner::problem::Step;
use crate::planner::span::Span;

impl Writer<'_> {
    /// None where the step has no start in any option.
    pub(super) fn step(&mut self, at: usize) -> Option<StepCode> {
        let market = self.market;
        let step = &market.problem.jobs[self.job].steps[at];
        if step.is_fixed() {
            return self.fixed(at, step);
        }
        let net = &market.nets[self.job];
        let open: Vec<usize> = (0..net.ways.len())
            .filter(|way| net.ways[*way].step == at && !self.domain.starts[*way].is_empty())
            .collect();
        let spans = |way: &usize| &self.domain.starts[*way];
        let first =
            open.iter().filter_map(|way| spans(way).first()).map(|span| span.start).min()?;
        let last =
            open.iter().filter_map(|way| spans(way).last()).map(|span| span.end - 1).max()?;
        let minutes = |way: &usize| as_i64(net.ways[*way].minutes);
        let shortest = open.iter().map(minutes).min()?;
        let longest = open.iter().map(minutes).max()?;
        let start = self.engine.number(self.step_name("start", at), first, last);
        let end = if shortest == longest {
            start.plus(shortest)
        } else {
            let name = self.step_name("end", at);
            let end = self.engine.number(name, first + shortest, last + longest);
            self.engine.gap(SURE, start, shortest, end);
            self.engine.gap(SURE, end, -longest, start);
            end
        };
        let options: Vec<usize> = open.iter().map(|way| net.ways[*way].option).collect();
        let facts = self.one_of(at, &options);
        for (way, fact) in open.iter().zip(&facts) {
            self.within(&[*fact], start, &self.domain.starts[*way]);
            if shortest < longest {
                self.engine.gap(*fact, start, minutes(way), end);
                self.engine.gap(*fact, end, -minutes(way), start);
            }
        }
        let uses = self.uses((at, start), &open, &facts);
        let ways: Vec<(Fact, usize)> = facts.iter().copied().zip(options).collect();
        let places = open.iter().zip(&facts).map(|(way, fact)| (net.ways[*way].place, *fact));
        let id = [self.job, at];
        let at = self.places(at, &places.collect::<Vec<_>>());
        Some(StepCode { id, fixed: false, start, end, hold: end, ways, uses, at })
    }

    fn fixed(&mut self, at: usize, step: &Step) -> Option<StepCode> {
        let fixed = step.fixed.as_ref()?;
        let start = self.engine.number(self.step_name("start", at), fixed.start, fixed.start);
        let end = start.plus(fixed.minutes);
        let id = [self.job, at];
        let at = vec![(step.options[fixed.option].place, self.planned)];
        let ways = vec![(SURE, fixed.option)];
        Some(StepCode { id, fixed: true, start, end, hold: end, ways, uses: Vec::new(), at })
    }

    /// Facts of which exactly one holds where the job is planned, and none otherwise.
    fn one_of(&mut self, step: usize, options: &[usize]) -> Vec<Fact> {
        if options.len() == 1 {
            return vec![self.planned];
        }
        let name = |option: &usize| Name::of("option", [self.job, step, *option]);
        let names: Vec<Name> = options.iter().map(name).collect();
        let facts: Vec<Fact> = names.into_iter().map(|name| self.engine.fact(name)).collect();
        let mut any = facts.clone();
        any.push(!self.planned);
        self.engine.any_of(&any);
        for (at, fact) in facts.iter().enumerate() {
            self.engine.any_of(&[!*fact, self.planned]);
            for other in &facts[..at] {
                self.engine.any_of(&[!*fact, !*other]);
            }
        }
        facts
    }

    /// Where all of some facts hold, a number lies in one of the spans.
    fn within(&mut self, when: &[Fact], number: Number, spans: &[Span]) {
        let mut clause: Vec<Fact> = when.iter().map(|fact| !*fact).collect();
        let (Some(first), Some(last)) = (spans.first(), spans.last()) else {
            self.engine.any_of(&clause);
            return;
        };
        let length = clause.len();
        for bound in [number.at_least(first.start), number.at_most(last.end - 1)] {
            clause.push(bound);
            self.engine.any_of(&clause);
            clause.truncate(length);
        }
        for pair in spans.windows(2) {
            clause.push(number.at_most(pair[0].end - 1));
            clause.push(number.at_least(pair[1].start));
            self.engine.any_of(&clause);
            clause.truncate(length);
        }
    }

    /// Which resources a step uses, need by need.
    fn uses(
        &mut self,
        (step, start): (usize, Number),
        open: &[usize],
        ways: &[Fact],
    ) -> Vec<Vec<(Fact, usize)>> {
        let market = self.market;
        let net = &market.nets[self.job];
        let needs = |way: &usize| &net.crews[net.ways[*way].crew].needs;
        let most = open.iter().map(|way| needs(way).len()).max().unwrap_or(0);
        let mut uses: Vec<Vec<(Fact, usize)>> = Vec::new();
        for need in 0..most {
            let groups: Vec<&[usize]> =
                open.iter().map(|way| needs(way).get(need).map_or(&[][..], |g| g)).collect();
            let mut named: Vec<usize> = groups.iter().flat_map(|group| *group).copied().collect();
            named.sort_unstable();
            named.dedup();
            let sure = named.len() == 1 && groups.iter().all(|group| group.len() == 1);
            let name = |used: usize| Name::of("uses", [self.job, step, need, used]);
            let names: Vec<(Name, usize)> = named.iter().map(|used| (name(*used), *used)).collect();
            let mut fact = |name: Name| if sure { self.planned } else { self.engine.fact(name) };
            let facts: Vec<(Fact, usize)> =
                names.into_iter().map(|(name, used)| (fact(name), used)).collect();
            for (at, (fact, _)) in facts.iter().enumerate() {
                for (other, _) in &facts[..at] {
                    self.engine.any_of(&[!*fact, !*other]);
                }
            }
            for ((way, group), taken) in open.iter().zip(groups).zip(ways) {
                if group.is_empty() {
                    continue;
                }
                let mut any = vec![!*taken];
                any.extend(facts.iter().filter(|f| group.contains(&f.1)).map(|f| f.0));
                self.engine.any_of(&any);
                let free = &self.domain.free[net.ways[*way].crew];
                for (fact, used) in &facts {
                    if group.contains(used) {
                        let spans = free.iter().find(|(other, _)| other == used);
                        let spans = spans.map_or(&[][..], |(_, spans)| spans);
                        self.within(&[*taken, *fact], start, spans);
                    } else {
                        self.engine.any_of(&[!*taken, !*fact]);
                    }
                }
            }
            for (fact, used) in &facts {
                for other in uses.iter().flatten().filter(|other| other.1 == *used) {
                    self.engine.any_of(&[!*fact, !other.0]);
                }
            }
            uses.push(facts);
        }
        uses
    }

    /// Where a step is, from where each of its options is.
    fn places(
        &mut self,
        step: usize,
        options: &[(Option<usize>, Fact)],
    ) -> Vec<(Option<usize>, Fact)> {
        let mut places: Vec<Option<usize>> = options.iter().map(|(place, _)| *place).collect();
        places.sort_unstable();
        places.dedup();
        if let [only] = places.as_slice() {
            return vec![(*only, self.planned)];
        }
        let mut at = Vec::new();
        for place in places {
            let here = options.iter().filter(|(other, _)| *other == place);
            let facts: Vec<Fact> = here.map(|(_, fact)| *fact).collect();
            let fact = if let [only] = facts.as_slice() {
                *only
            } else {
                let fact = self.engine.fact(match place {
                    Some(place) => Name::of("at", [self.job, step, place]),
                    None => self.step_name("nowhere", step),
                });
                for way in &facts {
                    self.engine.any_of(&[!*way, fact]);
                }
                let mut any = facts.clone();
                any.push(!fact);
                self.engine.any_of(&any);
                fact
            };
            at.push((place, fact));
        }
        at
    }
}
