//! One of the targets under libFuzzer; `FUZZ_TARGET` says which. `tests/fuzz/run` builds it.
#![no_main]

#[path = "../harness/mod.rs"]
mod harness;
mod mutate;

use harness::Target;
use std::sync::OnceLock;

fn target() -> Target {
    static TARGET: OnceLock<Target> = OnceLock::new();
    *TARGET.get_or_init(|| {
        let name = std::env::var("FUZZ_TARGET").unwrap_or_default();
        let found = harness::TARGETS.iter().find(|(known, _)| *known == name);
        found.unwrap_or_else(|| panic!("FUZZ_TARGET={name} is no target")).1
    })
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| target()(bytes));

libfuzzer_sys::fuzz_mutator!(|data: &mut [u8], size: usize, most: usize, seed: u32| {
    match mutate::mutated(&data[..size], most, seed) {
        Some(bytes) => {
            data[..bytes.len()].copy_from_slice(&bytes);
            bytes.len()
        }
        None => libfuzzer_sys::fuzzer_mutate(data, size, most),
    }
});
