"""Verifying an Ed25519 signature (RFC 8032, 5.1), slowly and in the open: for checking, not for keys of any worth."""
import hashlib

P = 2 ** 255 - 19
ORDER = 2 ** 252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT = pow(2, (P - 1) // 4, P)


def add(a, b):
    """Two points (X, Y, Z, T), 5.1.4."""
    first, second = (a[1] - a[0]) * (b[1] - b[0]), (a[1] + a[0]) * (b[1] + b[0])
    third, fourth = 2 * a[3] * b[3] * D, 2 * a[2] * b[2]
    e, f, g, h = second - first, fourth - third, fourth + third, second + first
    return e * f % P, g * h % P, f * g % P, e * h % P


def multiply(number, point):
    product = (0, 1, 1, 0)
    while number:
        if number & 1:
            product = add(product, point)
        point, number = add(point, point), number >> 1
    return product


def equal(a, b):
    return (a[0] * b[2] - b[0] * a[2]) % P == 0 and (a[1] * b[2] - b[1] * a[2]) % P == 0


def point_of(raw):
    """5.1.3; None where there is none."""
    y = int.from_bytes(raw, "little")
    sign, y = y >> 255, y & (1 << 255) - 1
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if (x * x - square) % P or not x and sign:
        return None
    x = P - x if x & 1 != sign else x
    return x, y, 1, x * y % P


BASE = point_of((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))


def is_small(point):
    return equal(multiply(8, point), (0, 1, 1, 0))


def holds(key, message, signature):
    """5.1.7, the equation with the cofactor left out. Keys of small order never hold."""
    point, nonce = point_of(key), point_of(signature[:32])
    number = int.from_bytes(signature[32:], "little")
    if point is None or nonce is None or number >= ORDER or is_small(point):
        return False
    challenge = int.from_bytes(hashlib.sha512(signature[:32] + key + message).digest(), "little") % ORDER
    return equal(multiply(number, BASE), add(nonce, multiply(challenge, point)))
