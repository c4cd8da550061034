"""Makes PNG files (W3C PNG specification) out of nothing but the standard library."""
import struct
import zlib


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(width, height, seed=0):
    """A grey picture; another seed gives other bytes."""
    rows = b"".join(b"\0" + bytes((seed + x * y) % 256 for x in range(width)) for y in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    )
