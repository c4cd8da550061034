"""Small picture files for the interop checks, made with nothing but zlib."""

import random
import struct
import zlib


def png(seed, width=40, height=30):
    """A PNG of random pixels (ISO/IEC 15948): every seed another file."""
    chance = random.Random(seed)
    rows = b"".join(b"\0" + chance.randbytes(width * 3) for _ in range(height))

    def chunk(kind, data):
        return struct.pack(">L", len(data)) + kind + data + struct.pack(">L", zlib.crc32(kind + data))

    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">LLBBBBB", width, height, 8, 2, 0, 0, 0)) + \
        chunk(b"pHYs", struct.pack(">LLB", 47244, 47244, 1)) + chunk(b"IDAT", zlib.compress(rows, 1)) + chunk(b"IEND", b"")
