// Written by inkjoule. Changes here are lost with the next export.
//! The C of this crate as Rust calls it: the only file with `unsafe` in it.
//!
//! How C lays its state out is not described here a second time. [`Store`] keeps bytes for it, `store.c` works in them, and
//! does not compile where they are too few. What crosses the border is numbers, and one structure of numbers of 16 bits.
#![allow(unsafe_code)]

use super::{STATE_BYTES, STRIP_BYTES};
use core::marker::PhantomData;
use core::mem::MaybeUninit;
use core::ptr::NonNull;

/// What C keeps of a device; only C reads or writes it.
#[repr(C, align(8))]
struct State([MaybeUninit<u64>; STATE_BYTES / 8]);

/// The memory of one device: its state, and the strip that its lines are drawn in. It takes the same RAM wherever it stands:
/// in the frame of a `main` that never ends, or in a static that is handed out once as `&'static mut`.
pub struct Store {
    state: State,
    strip: [u8; STRIP_BYTES],
}

impl Store {
    /// Empty, all bytes 0.
    pub const fn new() -> Self {
        Self {
            state: State([MaybeUninit::new(0); STATE_BYTES / 8]),
            strip: [0; STRIP_BYTES],
        }
    }
}

impl Default for Store {
    fn default() -> Self {
        Self::new()
    }
}

/// A task in the numbers of C, `struct ink_rust_task`.
#[repr(C)]
#[derive(Default)]
pub(super) struct Numbers {
    pub mode: u16,
    pub reason: u16,
    pub plane: u16,
    pub x: u16,
    pub y: u16,
    pub width: u16,
    pub height: u16,
    pub column: u16,
    pub line: u16,
    pub first_line: u16,
    pub lines: u16,
    pub first_byte: u16,
    pub row_bytes: u16,
    pub stride: u16,
}

extern "C" {
    fn ink_rust_init(state: *mut State, strip: *mut u8) -> u8;
    fn ink_rust_sound() -> u8;
    fn ink_rust_begin(state: *mut State, now: u64);
    fn ink_rust_next(
        state: *mut State,
        now: u64,
        temperature: i16,
        until: *mut u64,
        task: *mut Numbers,
    ) -> u8;
    fn ink_rust_run(state: *mut State, now: u64);
    fn ink_rust_wake(state: *mut State) -> u64;
    fn ink_rust_busy(state: *mut State, until: u64);
    fn ink_rust_sending(state: *const State) -> u8;
    fn ink_rust_screen(state: *const State) -> u16;
    fn ink_rust_locale_now(state: *const State) -> u8;
    fn ink_rust_box_count(state: *const State) -> u8;
    fn ink_rust_box(state: *const State, at: u8) -> u16;
    // @IF:FIELDS@
    fn ink_rust_preset(state: *mut State, field: u16, number: i32);
    fn ink_rust_past_add(state: *mut State, field: u16, number: i32);
    fn ink_rust_value(state: *const State, field: u16) -> i32;
    fn ink_rust_measured(state: *mut State, field: u16, number: i32);
    fn ink_rust_wanted(state: *mut State, now: u64, field: u16) -> u8;
    fn ink_rust_arrived(state: *mut State, now: u64, field: u16, number: i32) -> u8;
    // @END@
    // @IF:KEYS@
    fn ink_rust_key(state: *mut State, now: u64, key: u8, down: u8) -> u8;
    // @END@
    // @IF:EVENTS@
    fn ink_rust_event(state: *mut State, now: u64, event: u16) -> u8;
    // @END@
    // @IF:LOCALES@
    fn ink_rust_locale(state: *mut State, locale: u8);
    // @END@
}

/// A device in its store. C keeps addresses of state and strip, so both are reached through the two pointers made here, and
/// by nothing else, for as long as the store is borrowed. The handle may move: it only points to them.
///
/// Every call below is sound for the same reasons: the state was prepared by `ink_rust_init` (there is no handle without), it
/// and the strip lie in the borrowed store, and the store is borrowed for this handle alone. The C keeps nothing beyond the
/// call but in the store, calls nothing back, and checks fields, keys, events and locales against what the design has; times,
/// numbers and temperatures may be anything.
pub(super) struct Handle<'s> {
    state: NonNull<State>,
    strip: NonNull<[u8; STRIP_BYTES]>,
    store: PhantomData<&'s mut Store>,
}

// SAFETY: the handle is the only way to its store, and the C keeps nothing of a thread: whichever has the handle may call. It
// is not `Sync`: two threads take turns by whatever keeps it.
unsafe impl Send for Handle<'_> {}

impl<'s> Handle<'s> {
    /// Prepares the store. `None` where the tables are not those that were exported.
    pub fn new(store: &'s mut Store) -> Option<Self> {
        let state = NonNull::from(&mut store.state);
        let strip = NonNull::from(&mut store.strip);
        // SAFETY: both are borrowed for `'s` and have the sizes that `store.c` was compiled with.
        let prepared = unsafe { ink_rust_init(state.as_ptr(), strip.as_ptr().cast()) };
        (prepared != 0).then_some(Self {
            state,
            strip,
            store: PhantomData,
        })
    }

    /// The strip. No call into C is made while it is lent, since it borrows the handle.
    pub fn strip(&mut self) -> &mut [u8] {
        // SAFETY: the array lies in the borrowed store, was zeroed when it was made, and C writes whole bytes of it.
        unsafe { self.strip.as_mut() }
    }

    pub fn begin(&mut self, now: u64) {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_begin(self.state.as_ptr(), now) }
    }

    pub fn next(&mut self, now: u64, temperature: i16) -> (u8, u64, Numbers) {
        let (mut until, mut numbers) = (u64::MAX, Numbers::default());
        // SAFETY: see `Handle`; C writes `until` and `numbers`, which outlive the call.
        let kind = unsafe {
            ink_rust_next(
                self.state.as_ptr(),
                now,
                temperature,
                &mut until,
                &mut numbers,
            )
        };
        (kind, until, numbers)
    }

    pub fn run(&mut self, now: u64) {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_run(self.state.as_ptr(), now) }
    }

    pub fn wake(&mut self) -> u64 {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_wake(self.state.as_ptr()) }
    }

    pub fn busy(&mut self, until: u64) {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_busy(self.state.as_ptr(), until) }
    }

    pub fn sending(&self) -> bool {
        // SAFETY: see `Handle`; the state is only read.
        unsafe { ink_rust_sending(self.state.as_ptr()) != 0 }
    }

    pub fn screen(&self) -> u16 {
        // SAFETY: see `Handle`; the state is only read.
        unsafe { ink_rust_screen(self.state.as_ptr()) }
    }

    pub fn locale_now(&self) -> u8 {
        // SAFETY: see `Handle`; the state is only read.
        unsafe { ink_rust_locale_now(self.state.as_ptr()) }
    }

    pub fn box_count(&self) -> u8 {
        // SAFETY: see `Handle`; the state is only read.
        unsafe { ink_rust_box_count(self.state.as_ptr()) }
    }

    pub fn open_box(&self, at: u8) -> u16 {
        // SAFETY: see `Handle`; the state is only read, and the number is checked there.
        unsafe { ink_rust_box(self.state.as_ptr(), at) }
    }
    // @IF:FIELDS@

    pub fn preset(&mut self, field: u16, number: i32) {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_preset(self.state.as_ptr(), field, number) }
    }

    pub fn past_add(&mut self, field: u16, number: i32) {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_past_add(self.state.as_ptr(), field, number) }
    }

    pub fn value(&self, field: u16) -> i32 {
        // SAFETY: see `Handle`; the state is only read.
        unsafe { ink_rust_value(self.state.as_ptr(), field) }
    }

    pub fn measured(&mut self, field: u16, number: i32) {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_measured(self.state.as_ptr(), field, number) }
    }

    pub fn wanted(&mut self, now: u64, field: u16) -> bool {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_wanted(self.state.as_ptr(), now, field) != 0 }
    }

    pub fn arrived(&mut self, now: u64, field: u16, number: i32) -> bool {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_arrived(self.state.as_ptr(), now, field, number) != 0 }
    }
    // @END@
    // @IF:KEYS@

    pub fn key(&mut self, now: u64, key: u8, down: bool) -> u8 {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_key(self.state.as_ptr(), now, key, u8::from(down)) }
    }
    // @END@
    // @IF:EVENTS@

    pub fn event(&mut self, now: u64, event: u16) -> bool {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_event(self.state.as_ptr(), now, event) != 0 }
    }
    // @END@
    // @IF:LOCALES@

    pub fn locale(&mut self, locale: u8) {
        // SAFETY: see `Handle`.
        unsafe { ink_rust_locale(self.state.as_ptr(), locale) }
    }
    // @END@
}

/// Whether the tables are what was exported.
pub(super) fn sound() -> bool {
    // SAFETY: reads constant tables only.
    unsafe { ink_rust_sound() != 0 }
}
