//! Where pixels lie in packed bytes, and pictures turned as they are packed, so that firmware copies them byte by byte.

use crate::frame::{Frame, Packing};

/// The numbers that lead from a pixel to its bit: `[ax, ay, a0, bx, by, b0]`, then the steps of `a` and `b` in bytes.
pub fn coefficients(packing: &Packing, width: u32, height: u32) -> ([i32; 6], [u32; 2]) {
    let turn = packing.line_turn();
    let (w, h) = (width as i32, height as i32);
    let (along, down, last_along, last_down) = match turn.transpose {
        false => ([1, 0], [0, 1], w - 1, h - 1),
        true => ([0, 1], [1, 0], h - 1, w - 1),
    };
    let line = |[x, y]: [i32; 2], last: i32, reversed: bool| if reversed { [-x, -y, last] } else { [x, y, 0] };
    let (across, lines) = (line(along, last_along, turn.mirror), line(down, last_down, turn.flip));
    let stride = packing.stride_of(width, height).unwrap_or(0);
    let (a, b, steps) =
        if packing.strips_lie_in_lines() { (across, lines, [1, stride]) } else { (lines, across, [stride, 1]) };
    ([a[0], a[1], a[2], b[0], b[1], b[2]], steps)
}

/// A picture with what lies along a byte in its rows, both directions being those of the bytes.
pub fn packed(frame: &Frame, packing: &Packing) -> Frame {
    let (w, h) = (frame.width(), frame.height());
    let ([ax, ay, _, bx, by, _], _) = coefficients(packing, w, h);
    let side = |along_x: bool| if along_x { w } else { h };
    let first = |x: i32, y: i32| if x + y < 0 { side(x != 0) as i32 - 1 } else { 0 };
    let mut turned = Frame::new(side(ax != 0), side(bx != 0));
    for (x, y) in (0..h as i32).flat_map(|y| (0..w as i32).map(move |x| (x, y))) {
        let (a, b) = (x * ax + y * ay + first(ax, ay), x * bx + y * by + first(bx, by));
        turned.set(a as u32, b as u32, frame.ink(x as u32, y as u32));
    }
    turned
}

/// A pattern of eight by eight pixels, anchored to the corner of the screen, as bytes by the line of the packed picture.
pub fn pattern(tile: &Frame, packing: &Packing, width: u32, height: u32) -> [u8; 8] {
    let ([ax, ay, a0, bx, by, b0], _) = coefficients(packing, width, height);
    let mut bytes = [0; 8];
    for (x, y) in (0..8).flat_map(|y| (0..8).map(move |x| (x, y))) {
        let (a, b) = ((x * ax + y * ay + a0).rem_euclid(8), (x * bx + y * by + b0).rem_euclid(8));
        bytes[b as usize] |= u8::from(tile.ink(x as u32, y as u32)) << (7 - a);
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::BitOrder;

    #[test]
    fn coefficients_find_every_pixel_where_the_packing_puts_it() {
        for packing in Packing::all() {
            for stride in [None, Some(40)] {
                let packing = Packing { stride, ..packing.clone() };
                let ([ax, ay, a0, bx, by, b0], [a_step, b_step]) = coefficients(&packing, 19, 27);
                for (x, y) in (0..19).flat_map(|x| (0..27).map(move |y| (x, y))) {
                    let a = (x * ax + y * ay + a0) as u32;
                    let byte = a / 8 * a_step + (x * bx + y * by + b0) as u32 * b_step;
                    let first = if packing.bits == BitOrder::MsbFirst { 7 } else { 0 };
                    let place = packing.place(x as u32, y as u32, 19, 27);
                    assert_eq!(place, Some((byte as usize, 1 << ((a & 7) ^ first))), "{packing:?}");
                }
            }
        }
    }
}
