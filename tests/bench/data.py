"""What the rows work on, the same at every run: scans out of a key stream, bundles out of bench_make."""

import pathlib
import struct
import subprocess

WIDTH = 1024
HEADER = 122  # bytes before the pixels


def key_stream(seed):
    """Bytes without end that no compressor makes smaller: AES-128 in counter mode over zeros (NIST SP 800-38A)."""
    return subprocess.Popen(["openssl", "enc", "-aes-128-ctr", "-K", f"{seed:032x}", "-iv", "0" * 32, "-in", "/dev/zero"],
                            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)


def tiff_header(rows):
    """Of an 8-bit grey picture of WIDTH × rows pixels in one strip at 1200 dpi (TIFF 6.0, section 4)."""
    tags = [(256, 3, WIDTH), (257, 4, rows), (258, 3, 8), (259, 3, 1), (262, 3, 1), (273, 4, HEADER + 8), (278, 4, rows),
            (279, 4, WIDTH * rows), (282, 5, HEADER)]
    packed = b"".join(struct.pack("<HHLL", tag, kind, 1, value) for tag, kind, value in tags)
    return (b"II*\0" + struct.pack("<LH", 8, len(tags)) + packed + b"\0\0\0\0" + struct.pack("<LL", 1200, 1))


def make_scans(folder, count, total, seed):
    """`count` pictures of different sizes, `total` bytes in all or a little more."""
    folder = pathlib.Path(folder)
    folder.mkdir()
    source = key_stream(seed)
    mean = max(1, total // count // WIDTH)
    for number in range(count):
        rows = max(1, mean // 2 + (mean * (number * 7919 % count)) // count)
        with open(folder / f"S-{number + 1:05}.tif", "wb") as out:
            out.write(tiff_header(rows))
            out.write(source.stdout.read(WIDTH * rows))
    source.kill()
    source.wait()


def make_small_scans(folder, count, seed):
    """`count` pictures of one row each, spread over one folder."""
    make_scans(folder, count, 0, seed)


def make_one(path, total, seed):
    """A file of no known kind, `total` bytes long."""
    source = key_stream(seed)
    with open(path, "wb") as out:
        while total:
            out.write(source.stdout.read(min(total, 1 << 22)))
            total -= min(total, 1 << 22)
    source.kill()
    source.wait()
