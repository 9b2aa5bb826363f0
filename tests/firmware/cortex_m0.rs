//! A Cortex-M0 that runs functions of a linked image and counts: instructions, and cycles by the processor's manual.
//!
//! Cycles: Cortex-M0 Technical Reference Manual (ARM DDI 0432C), table 3-1, with the multiplier of one cycle and memory
//! without wait states. No exceptions, no peripherals; what ARMv6-M does not define stops the run with a message.

use std::collections::BTreeMap;

/// Where RAM begins and how much there is.
const RAM: u32 = 0x2000_0000;
const RAM_SIZE: usize = 64 * 1024;
/// A return to here ends a call.
const END: u32 = 0xFFFF_FFFE;

/// What was counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    pub instructions: u64,
    pub cycles: u64,
    /// Bytes of the stack that were used at most.
    pub stack: u32,
}

/// The processor with its memory.
pub struct Machine {
    flash: Vec<u8>,
    ram: Vec<u8>,
    r: [u32; 16],
    n: bool,
    z: bool,
    c: bool,
    v: bool,
    count: Count,
    lowest: u32,
    /// Where functions begin.
    functions: BTreeMap<String, u32>,
    free: u32,
}

impl Machine {
    /// A processor with an image at address 0, and names of functions with their addresses.
    pub fn new(flash: Vec<u8>, functions: impl IntoIterator<Item = (String, u32)>) -> Self {
        let functions = functions.into_iter().map(|(name, at)| (name, at & !1)).collect();
        Self {
            flash,
            ram: vec![0; RAM_SIZE],
            r: [0; 16],
            n: false,
            z: false,
            c: false,
            v: false,
            count: Count::default(),
            lowest: 0,
            functions,
            free: RAM,
        }
    }

    /// The address of a symbol.
    pub fn symbol(&self, name: &str) -> u32 {
        *self.functions.get(name).unwrap_or_else(|| panic!("no symbol {name}"))
    }

    /// Reserves RAM, four bytes aligned.
    pub fn room(&mut self, bytes: usize) -> u32 {
        let at = self.free;
        self.free += (bytes as u32 + 3) & !3;
        assert!(self.free < RAM + RAM_SIZE as u32 / 2, "no RAM left beside the stack");
        at
    }

    /// Writes bytes to RAM.
    pub fn put(&mut self, at: u32, bytes: &[u8]) {
        let at = (at - RAM) as usize;
        self.ram[at..at + bytes.len()].copy_from_slice(bytes);
    }

    /// Bytes of RAM.
    pub fn bytes(&self, at: u32, count: usize) -> &[u8] {
        let at = (at - RAM) as usize;
        &self.ram[at..at + count]
    }

    /// Calls a function with up to six arguments; its result, and what it took.
    pub fn call(&mut self, name: &str, arguments: &[u32]) -> (u32, Count) {
        let top = RAM + RAM_SIZE as u32 - 16;
        self.r[13] = top;
        for (at, argument) in arguments.iter().enumerate() {
            match at {
                0..=3 => self.r[at] = *argument,
                _ => self.put(top + (at as u32 - 4) * 4, &argument.to_le_bytes()),
            }
        }
        self.r[14] = END | 1;
        self.r[15] = self.symbol(name);
        self.count = Count::default();
        self.lowest = top;
        while self.r[15] != END {
            self.step();
            self.lowest = self.lowest.min(self.r[13]);
        }
        self.count.stack = top - self.lowest;
        (self.r[0], self.count)
    }

    fn load(&self, at: u32, bytes: u32) -> u32 {
        assert_eq!(at % bytes, 0, "unaligned read at {at:#x} from {:#x}", self.r[15]);
        let (memory, from) = if at >= RAM { (&self.ram, (at - RAM) as usize) } else { (&self.flash, at as usize) };
        let found = memory.get(from..from + bytes as usize);
        let found = found.unwrap_or_else(|| panic!("read outside at {at:#x} from {:#x}", self.r[15]));
        match *found {
            [one] => u32::from(one),
            [low, high] => u32::from(u16::from_le_bytes([low, high])),
            _ => found.iter().rev().fold(0, |sum, byte| sum << 8 | u32::from(*byte)),
        }
    }

    fn store(&mut self, at: u32, bytes: u32, value: u32) {
        assert_eq!(at % bytes, 0, "unaligned write at {at:#x} from {:#x}", self.r[15]);
        let from = at.checked_sub(RAM).unwrap_or_else(|| panic!("write to {at:#x} from {:#x}", self.r[15])) as usize;
        self.ram[from..from + bytes as usize].copy_from_slice(&value.to_le_bytes()[..bytes as usize]);
    }

    fn flags(&mut self, value: u32) -> u32 {
        self.n = value >> 31 == 1;
        self.z = value == 0;
        value
    }

    fn sum(&mut self, a: u32, b: u32, carry: bool) -> u32 {
        let all = u64::from(a) + u64::from(b) + u64::from(carry);
        let value = all as u32;
        self.c = all >> 32 != 0;
        self.v = (a ^ value) & (b ^ value) & 1 << 31 != 0;
        self.flags(value)
    }

    /// Shifts by a number of places: 0 left, 1 right, 2 right with the sign, 3 around.
    fn shift(&mut self, how: u32, value: u32, by: u32) -> u32 {
        if by == 0 {
            return self.flags(value);
        }
        let (shifted, out) = match how {
            0 => (value.checked_shl(by).unwrap_or(0), by <= 32 && value >> (32 - by) & 1 == 1),
            1 => (value.checked_shr(by).unwrap_or(0), by <= 32 && value >> (by - 1) & 1 == 1),
            2 => ((value as i32 >> by.min(31)) as u32, value as i32 >> (by - 1).min(31) & 1 == 1),
            _ => (value.rotate_right(by % 32), value.rotate_right(by % 32) >> 31 == 1),
        };
        self.c = out;
        self.flags(shifted)
    }

    fn holds(&self, condition: u32) -> bool {
        let plain = match condition >> 1 {
            0 => self.z,
            1 => self.c,
            2 => self.n,
            3 => self.v,
            4 => self.c && !self.z,
            5 => self.n == self.v,
            _ => self.n == self.v && !self.z,
        };
        plain != (condition & 1 == 1)
    }

    fn jump(&mut self, to: u32) {
        assert_eq!(to & 1, 1, "a jump to {to:#x} that is not Thumb, from {:#x}", self.r[15]);
        self.r[15] = to & !1;
    }

    fn step(&mut self) {
        let at = self.r[15];
        let op = self.load(at, 2);
        self.count.instructions += 1;
        self.r[15] = at + 2;
        self.count.cycles += match op >> 12 {
            0..=3 => self.arithmetic(op),
            4 if op >> 10 == 0b01_0000 => self.logic(op),
            4 if op >> 10 == 0b01_0001 => self.high(op, at),
            4 => {
                self.r[(op >> 8 & 7) as usize] = self.load(((at + 4) & !3) + (op & 0xFF) * 4, 4);
                2
            }
            5..=9 => self.memory(op),
            10 => {
                let from = if op & 0x800 == 0 { (at + 4) & !3 } else { self.r[13] };
                self.r[(op >> 8 & 7) as usize] = from + (op & 0xFF) * 4;
                1
            }
            11 => self.several(op),
            12 => self.multiple(op),
            13 => {
                let condition = op >> 8 & 15;
                assert!(condition < 14, "undefined {op:#06x} at {at:#x}");
                if !self.holds(condition) {
                    return self.count.cycles += 1;
                }
                self.r[15] = (at + 4).wrapping_add(((op as u8 as i8) as i32 * 2) as u32);
                3
            }
            14 if op & 0x800 == 0 => {
                self.r[15] = (at + 4).wrapping_add(((op << 21) as i32 >> 20) as u32);
                3
            }
            _ => self.branch_and_link(op, at),
        };
    }

    fn branch_and_link(&mut self, op: u32, at: u32) -> u64 {
        let low = self.load(at + 2, 2);
        assert!(op >> 11 == 0b11110 && low >> 14 == 3 && low >> 12 & 1 == 1, "undefined {op:#06x} at {at:#x}");
        let sign = op >> 10 & 1;
        let (one, two) = (1 ^ (low >> 13 & 1) ^ sign, 1 ^ (low >> 11 & 1) ^ sign);
        let offset = sign << 24 | one << 23 | two << 22 | (op & 0x3FF) << 12 | (low & 0x7FF) << 1;
        self.r[14] = (at + 4) | 1;
        self.r[15] = (at + 4).wrapping_add(((offset << 7) as i32 >> 7) as u32);
        4
    }

    fn arithmetic(&mut self, op: u32) -> u64 {
        let (d, m, by) = ((op & 7) as usize, self.r[(op >> 3 & 7) as usize], op >> 6 & 31);
        match op >> 11 {
            how @ 0..=2 => {
                self.r[d] = self.shift(how, m, if by == 0 && how > 0 { 32 } else { by });
            }
            3 => {
                let other = if op & 0x400 == 0 { self.r[(op >> 6 & 7) as usize] } else { op >> 6 & 7 };
                self.r[d] = if op & 0x200 == 0 { self.sum(m, other, false) } else { self.sum(m, !other, true) };
            }
            how => {
                let (d, number) = ((op >> 8 & 7) as usize, op & 0xFF);
                match how {
                    4 => self.r[d] = self.flags(number),
                    5 => _ = self.sum(self.r[d], !number, true),
                    6 => self.r[d] = self.sum(self.r[d], number, false),
                    _ => self.r[d] = self.sum(self.r[d], !number, true),
                }
            }
        }
        1
    }

    fn logic(&mut self, op: u32) -> u64 {
        let (d, m) = ((op & 7) as usize, self.r[(op >> 3 & 7) as usize]);
        let mine = self.r[d];
        match op >> 6 & 15 {
            0 => self.r[d] = self.flags(mine & m),
            1 => self.r[d] = self.flags(mine ^ m),
            how @ 2..=4 => self.r[d] = self.shift(how - 2, mine, m & 0xFF),
            5 => self.r[d] = self.sum(mine, m, self.c),
            6 => self.r[d] = self.sum(mine, !m, self.c),
            7 => self.r[d] = self.shift(3, mine, m & 0xFF),
            8 => _ = self.flags(mine & m),
            9 => self.r[d] = self.sum(0, !m, true),
            10 => _ = self.sum(mine, !m, true),
            11 => _ = self.sum(mine, m, false),
            12 => self.r[d] = self.flags(mine | m),
            13 => self.r[d] = self.flags(mine.wrapping_mul(m)),
            14 => self.r[d] = self.flags(mine & !m),
            _ => self.r[d] = self.flags(!m),
        }
        1
    }

    /// Operations on all registers, and jumps to them.
    fn high(&mut self, op: u32, at: u32) -> u64 {
        let (d, m) = ((op & 7 | op >> 4 & 8) as usize, (op >> 3 & 15) as usize);
        let value = if m == 15 { at + 4 } else { self.r[m] };
        match op >> 8 & 3 {
            0 if d == 15 => {
                self.r[15] = (at + 4).wrapping_add(value) & !1;
                return 3;
            }
            0 => self.r[d] = self.r[d].wrapping_add(value),
            1 => _ = self.sum(self.r[d], !value, true),
            2 if d == 15 => {
                self.r[15] = value & !1;
                return 3;
            }
            2 => self.r[d] = value,
            _ => {
                if op & 0x80 != 0 {
                    self.r[14] = (at + 2) | 1;
                }
                self.jump(value);
                return 3;
            }
        }
        1
    }

    fn memory(&mut self, op: u32) -> u64 {
        let (d, n) = ((op & 7) as usize, self.r[(op >> 3 & 7) as usize]);
        let far = op >> 6 & 31;
        let by_register = n.wrapping_add(self.r[(op >> 6 & 7) as usize]);
        match op >> 9 {
            0x28 => self.store(by_register, 4, self.r[d]),
            0x29 => self.store(by_register, 2, self.r[d]),
            0x2A => self.store(by_register, 1, self.r[d]),
            0x2B => self.r[d] = self.load(by_register, 1) as u8 as i8 as i32 as u32,
            0x2C => self.r[d] = self.load(by_register, 4),
            0x2D => self.r[d] = self.load(by_register, 2),
            0x2E => self.r[d] = self.load(by_register, 1),
            0x2F => self.r[d] = self.load(by_register, 2) as u16 as i16 as i32 as u32,
            _ => {
                let (d8, stack) = ((op >> 8 & 7) as usize, self.r[13].wrapping_add((op & 0xFF) * 4));
                match op >> 11 {
                    0x0C => self.store(n.wrapping_add(far * 4), 4, self.r[d]),
                    0x0D => self.r[d] = self.load(n.wrapping_add(far * 4), 4),
                    0x0E => self.store(n.wrapping_add(far), 1, self.r[d]),
                    0x0F => self.r[d] = self.load(n.wrapping_add(far), 1),
                    0x10 => self.store(n.wrapping_add(far * 2), 2, self.r[d]),
                    0x11 => self.r[d] = self.load(n.wrapping_add(far * 2), 2),
                    0x12 => self.store(stack, 4, self.r[d8]),
                    _ => self.r[d8] = self.load(stack, 4),
                }
            }
        }
        2
    }

    fn several(&mut self, op: u32) -> u64 {
        let (d, m) = ((op & 7) as usize, self.r[(op >> 3 & 7) as usize]);
        let listed = u64::from((op & 0xFF).count_ones()) + u64::from(op >> 8 & 1);
        match op >> 8 & 15 {
            0 if op & 0x80 == 0 => self.r[13] += (op & 0x7F) * 4,
            0 => self.r[13] -= (op & 0x7F) * 4,
            2 => {
                self.r[d] = match op >> 6 & 3 {
                    0 => m as u16 as i16 as i32 as u32,
                    1 => m as u8 as i8 as i32 as u32,
                    2 => m & 0xFFFF,
                    _ => m & 0xFF,
                }
            }
            4 | 5 => {
                let mut to = self.r[13] - listed as u32 * 4;
                self.r[13] = to;
                for register in (0..8).filter(|at| op >> at & 1 == 1).chain((op & 0x100 != 0).then_some(14)) {
                    self.store(to, 4, self.r[register]);
                    to += 4;
                }
                return 1 + listed;
            }
            10 => {
                self.r[d] = match op >> 6 & 3 {
                    0 => m.swap_bytes(),
                    1 => m.swap_bytes().rotate_left(16),
                    3 => (m as u16).swap_bytes() as i16 as i32 as u32,
                    _ => panic!("undefined {op:#06x}"),
                }
            }
            12 | 13 => {
                for register in (0..8).filter(|at| op >> at & 1 == 1) {
                    self.r[register] = self.load(self.r[13], 4);
                    self.r[13] += 4;
                }
                if op & 0x100 != 0 {
                    let to = self.load(self.r[13], 4);
                    self.r[13] += 4;
                    self.jump(to);
                    return 3 + listed;
                }
                return 1 + listed;
            }
            15 => {}
            _ => panic!("undefined {op:#06x} at {:#x}", self.r[15] - 2),
        }
        1
    }

    fn multiple(&mut self, op: u32) -> u64 {
        let n = (op >> 8 & 7) as usize;
        let mut at = self.r[n];
        for register in (0..8).filter(|register| op >> register & 1 == 1) {
            match op & 0x800 {
                0 => self.store(at, 4, self.r[register]),
                _ => self.r[register] = self.load(at, 4),
            }
            at += 4;
        }
        if op & 0x800 == 0 || op >> n & 1 == 0 {
            self.r[n] = at;
        }
        1 + u64::from((op & 0xFF).count_ones())
    }
}
