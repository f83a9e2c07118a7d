//! Which number is chosen next: the one that took part in most of the latest dead ends (Moskewicz and others,
//! "Chaff: engineering an efficient SAT solver", DAC 2001), at the value that it had last.

/// How fast older dead ends count less.
const FADE: f64 = 1.0 / 0.95;
/// All counts are scaled down beyond this.
const LARGE: f64 = 1e100;

/// A heap of numbers by how much they took part.
#[derive(Debug)]
pub(super) struct Order {
    weight: Vec<f64>,
    /// Whether a number counts at all.
    leads: Vec<bool>,
    wanted: Vec<i64>,
    heap: Vec<usize>,
    place: Vec<usize>,
    gain: f64,
}

impl Default for Order {
    fn default() -> Self {
        let (weight, leads, wanted, heap, place) = Default::default();
        Self { weight, leads, wanted, heap, place, gain: 1.0 }
    }
}

const OUT: usize = usize::MAX;

impl Order {
    pub(super) fn add(&mut self, wanted: i64, leads: bool) {
        let number = self.weight.len();
        self.weight.push(0.0);
        self.leads.push(leads);
        self.wanted.push(wanted);
        self.place.push(self.heap.len());
        self.heap.push(number);
    }

    /// The value that a number had last, to be tried first.
    pub(super) fn keep(&mut self, number: usize, value: i64) {
        self.wanted[number] = value;
    }

    pub(super) fn wanted(&self, number: usize) -> i64 {
        self.wanted[number]
    }

    /// A number took part in a dead end.
    pub(super) fn bump(&mut self, number: usize) {
        if !self.leads[number] {
            return;
        }
        self.weight[number] += self.gain;
        if self.weight[number] > LARGE {
            self.weight.iter_mut().for_each(|weight| *weight /= LARGE);
            self.gain /= LARGE;
        }
        if self.place[number] != OUT {
            self.rise(self.place[number]);
        }
    }

    /// A dead end is dealt with.
    pub(super) fn fade(&mut self) {
        self.gain *= FADE;
    }

    pub(super) fn put_back(&mut self, number: usize) {
        if self.place[number] == OUT {
            self.place[number] = self.heap.len();
            self.heap.push(number);
            self.rise(self.place[number]);
        }
    }

    /// Takes the first number out.
    pub(super) fn take(&mut self) -> Option<usize> {
        let last = self.heap.len().checked_sub(1)?;
        self.swap(0, last);
        let number = self.heap.pop()?;
        self.place[number] = OUT;
        self.sink(0);
        Some(number)
    }

    fn before(&self, one: usize, other: usize) -> bool {
        let (one, other) = (self.heap[one], self.heap[other]);
        match self.weight[one].total_cmp(&self.weight[other]) {
            std::cmp::Ordering::Greater => true,
            std::cmp::Ordering::Equal => one < other,
            std::cmp::Ordering::Less => false,
        }
    }

    fn swap(&mut self, one: usize, other: usize) {
        self.heap.swap(one, other);
        self.place[self.heap[one]] = one;
        self.place[self.heap[other]] = other;
    }

    fn rise(&mut self, at: usize) {
        let mut at = at;
        while at > 0 && self.before(at, (at - 1) / 2) {
            self.swap(at, (at - 1) / 2);
            at = (at - 1) / 2;
        }
    }

    fn sink(&mut self, at: usize) {
        let mut at = at;
        loop {
            let mut first = at;
            for child in [2 * at + 1, 2 * at + 2] {
                if child < self.heap.len() && self.before(child, first) {
                    first = child;
                }
            }
            if first == at {
                return;
            }
            self.swap(at, first);
            at = first;
        }
    }
}
