//! Any bytes in place of an owner's record: a record with its doubts or a refusal, never a panic.
#![no_main]

use libfuzzer_sys::fuzz_target;
use marshgas::diary::read;

fuzz_target!(|bytes: &[u8]| {
    if let Err(refusal) = read::from_bytes(bytes, None) {
        assert!(!refusal.to_string().is_empty());
    }
});
