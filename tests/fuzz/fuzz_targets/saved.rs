#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| (kitlore_laws::law("saved").holds)(data));
