"""spec/images.md: what a scan's first bytes and structure say, as far as this reader goes: kinds (1), size (2), and
soundness (5) of PNG and JPEG files and of empty ones."""
import struct
import zlib

# 1 Kinds

BY_BEGINNING = [
    (0, b"\xff\xd8\xff", "image/jpeg"), (0, b"\x89PNG\r\n\x1a\n", "image/png"),
    (0, b"II*\0", "image/tiff"), (0, b"MM\0*", "image/tiff"), (0, b"II+\0", "image/tiff"), (0, b"MM\0+", "image/tiff"),
    (0, b"GIF87a", "image/gif"), (0, b"GIF89a", "image/gif"), (8, b"WEBPVP8", "image/webp"),
    (0, b"\0\0\0\x0cjP  \r\n\x87\n", "image/jp2"), (4, b"ftypheic", "image/heic"), (4, b"ftypheix", "image/heic"),
    (4, b"ftypmif1", "image/heif"), (4, b"ftypavif", "image/avif"), (0, b"\0\0\0\x0cJXL \r\n\x87\n", "image/jxl"),
    (0, b"%PDF-", "application/pdf")]


def media_of(data):
    return next((media for at, begin, media in BY_BEGINNING if data[at:at + len(begin)] == begin),
                "application/octet-stream")


# PNG and JPEG, part by part


def png_chunks(data):
    """(type, content, CRC holds); ValueError where a chunk reaches beyond the end."""
    at = 8
    while at < len(data):
        length = int.from_bytes(data[at:at + 4], "big")
        if at + 12 + length > len(data):
            raise ValueError("a chunk reaches beyond the end")
        kind, content = data[at + 4:at + 8], data[at + 8:at + 8 + length]
        yield kind, content, zlib.crc32(kind + content) == int.from_bytes(data[at + 8 + length:at + 12 + length], "big")
        at += 12 + length
        if kind == b"IEND":
            return
    raise ValueError("no IEND")


def jpeg_segments(data):
    """(marker, content, where it ends), up to the start of the scan."""
    at = 2
    while True:
        while data[at:at + 2] == b"\xff\xff":
            at += 1
        if at + 4 > len(data) or data[at] != 0xFF:
            raise ValueError("no segment where one should be")
        length = int.from_bytes(data[at + 2:at + 4], "big")
        if length < 2 or at + 2 + length > len(data):
            raise ValueError("a segment reaches beyond the end")
        yield data[at + 1], data[at + 4:at + 2 + length], at + 2 + length
        if data[at + 1] == 0xDA:
            return
        at += 2 + length


def is_frame(marker):
    return 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC)


# 2 Size


def size_of(data):
    """(width, height), or None where it is not said."""
    media = media_of(data)
    try:
        if media == "image/png" and data[12:16] == b"IHDR":
            return struct.unpack(">II", data[16:24])
        if media == "image/gif":
            return struct.unpack("<HH", data[6:10])
        if media == "image/jpeg":
            frame = next(content for marker, content, _ in jpeg_segments(data) if is_frame(marker))
            height, width = struct.unpack(">HH", frame[1:5])
            return width, height
    except (ValueError, StopIteration, struct.error):
        pass
    return None


# 5 Soundness


def is_sound(data):
    try:
        if media_of(data) == "image/png":
            return all(holds for kind, _, holds in png_chunks(data) if not kind[0] & 0x20)
        if media_of(data) == "image/jpeg":
            segments = list(jpeg_segments(data))
            behind = data[segments[-1][2]:]
            return any(is_frame(marker) for marker, _, _ in segments) and b"\xff\xd9" in behind[-65536:]
    except (ValueError, IndexError):
        return False
    return len(data) > 0
