//! FNV-1a of 64 bits (Fowler, Noll, Vo): a hash that is the same in every version and on every machine.

/// The hash of nothing.
pub(crate) const START: u64 = 0xcbf2_9ce4_8422_2325;

/// A hash carried on over one more value, a byte or the number of a character.
pub(crate) const fn fnv(hash: u64, value: u64) -> u64 {
    (hash ^ value).wrapping_mul(0x0100_0000_01b3)
}
