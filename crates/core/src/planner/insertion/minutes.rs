//! A set of minutes as bits, counted from a base minute.

/// Sets the bits from `from` up to and including `last`.
pub(super) fn fill(bits: &mut [u64], from: usize, last: usize) {
    let (first, end) = (from / 64, last / 64);
    let head = u64::MAX << (from % 64);
    let tail = u64::MAX >> (63 - last % 64);
    if first == end {
        bits[first] |= head & tail;
        return;
    }
    bits[first] |= head;
    bits[first + 1..end].fill(u64::MAX);
    bits[end] |= tail;
}

/// The first set bit at or after `from`.
pub(super) fn next(bits: &[u64], from: usize) -> Option<usize> {
    let mut word = from / 64;
    let mut left = bits.get(word)? & (u64::MAX << (from % 64));
    while left == 0 {
        word += 1;
        left = *bits.get(word)?;
    }
    Some(word * 64 + left.trailing_zeros() as usize)
}

#[cfg(test)]
mod tests {
    use super::{fill, next};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn bits_are_found_where_they_were_set(from in 0_usize..300, length in 0_usize..200, at in 0_usize..520) {
            let mut bits = vec![0_u64; 8];
            let last = (from + length).min(511);
            fill(&mut bits, from, last);
            let expected = if at <= last { Some(at.max(from)) } else { None };
            prop_assert_eq!(next(&bits, at), expected);
        }
    }
}
