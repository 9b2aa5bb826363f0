"""Times Pillow on pictures that `cargo bench` hands over, so that both sides take turns in one run.

Not for use by hand. Arguments: pictures, loaded once. Each line of standard input asks for `PICTURE WORK TIMES`; the
answer is nanoseconds for all TIMES. With TIMES 0 it is the CRC-32 of the bytes instead, so that both sides can be seen to
do the same.

WORK is `dither`, `threshold`, or `pack:TURN:RAW:LINES`: the picture turned by Pillow's TURN (`NONE` for none), written in
the raw mode RAW; with LINES above 0 the bytes of each line of the result are spread over so many lines, which gives strips
of pixels that stand upright.
"""

import sys
import time
import zlib

from PIL import Image

pictures = [Image.open(path) for path in sys.argv[1:]]
for picture in pictures:
    picture.load()
halves = [0] * 128 + [255] * 128


def packer(picture, turn, raw, lines):
    operation = None if turn == "NONE" else Image.Transpose[turn]

    def pack():
        turned = picture if operation is None else picture.transpose(operation)
        data = turned.tobytes("raw", raw)
        return b"".join(data[line::lines] for line in range(lines)) if lines else data

    return pack


def work(picture, name):
    if name == "dither":
        return lambda: picture.convert("1")
    if name == "threshold":
        return lambda: picture.point(halves, "1")
    _, turn, raw, lines = name.split(":")
    return packer(picture, turn, raw, int(lines))


def repeat(once, times):
    if times == 0:
        done = once()
        return zlib.crc32(done if isinstance(done, bytes) else done.tobytes("raw", "1;I"))
    start = time.perf_counter_ns()
    for _ in range(times):
        once()
    return time.perf_counter_ns() - start


for line in sys.stdin:
    index, name, times = line.split()
    print(repeat(work(pictures[int(index)], name), int(times)), flush=True)
