"""Ed25519 by the formulas of RFC 8032, section 5.1, with whole numbers and hashlib alone: slow, and fit for test
vectors only, since the time it takes tells of the key."""
import hashlib

P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT = pow(2, (P - 1) // 4, P)


def add(a, b):
    """Points in extended coordinates (5.1.4)."""
    x1, y1, z1, t1 = a
    x2, y2, z2, t2 = b
    e, f = (y1 - x1) * (y2 - x2) % P, (y1 + x1) * (y2 + x2) % P
    g, h = 2 * t1 * t2 * D % P, 2 * z1 * z2 % P
    i, j, k, m = f - e, h - g, h + g, f + e
    return i * j % P, k * m % P, j * k % P, i * m % P


def times(number, point):
    out = (0, 1, 1, 0)
    while number:
        if number & 1:
            out = add(out, point)
        point, number = add(point, point), number >> 1
    return out


def x_of(y, sign):
    """5.1.3: None where y is on no point."""
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    if square == 0:
        return None if sign else 0
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if (x * x - square) % P:
        return None
    return P - x if x & 1 != sign else x


BASE_Y = 4 * pow(5, P - 2, P) % P
BASE_X = x_of(BASE_Y, 0)
BASE = (BASE_X, BASE_Y, 1, BASE_X * BASE_Y % P)


def pack(point):
    x, y, z, _ = point
    inverse = pow(z, P - 2, P)
    return (y * inverse % P | (x * inverse % P & 1) << 255).to_bytes(32, "little")


def unpack(text):
    y = int.from_bytes(text, "little")
    sign, y = y >> 255, y & (1 << 255) - 1
    x = x_of(y, sign)
    return None if x is None else (x, y, 1, x * y % P)


def number(*parts):
    return int.from_bytes(hashlib.sha512(b"".join(parts)).digest(), "little")


def expand(seed):
    half = hashlib.sha512(seed).digest()
    scalar = int.from_bytes(half[:32], "little") & (1 << 254) - 8 | 1 << 254
    return scalar, half[32:]


def public(seed):
    return pack(times(expand(seed)[0], BASE))


def sign(seed, message):
    scalar, prefix = expand(seed)
    own = public(seed)
    r = number(prefix, message) % ORDER
    begin = pack(times(r, BASE))
    return begin + ((r + number(begin, own, message) % ORDER * scalar) % ORDER).to_bytes(32, "little")


def verify(key, message, signature):
    a, r, s = unpack(key), unpack(signature[:32]), int.from_bytes(signature[32:], "little")
    if a is None or r is None or s >= ORDER:
        return False
    right = add(r, times(number(signature[:32], key, message) % ORDER, a))
    left = times(s, BASE)
    return (left[0] * right[2] - right[0] * left[2]) % P == 0 and (left[1] * right[2] - right[1] * left[2]) % P == 0
