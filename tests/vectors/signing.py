"""Keys and signature lines for the vectors (spec/signatures.md). The keys are made from names: no secrets."""
import hashlib

import ed25519
from lines import ADA, BEN, canonical, digest, slip


class Key:
    def __init__(self, name):
        self.seed = hashlib.sha256(("key of " + name).encode()).digest()
        self.hex = ed25519.public(self.seed).hex()

    def sign(self, line):
        """The signature line on a slip's line."""
        return self.sign_as(digest(line), digest(line))

    def sign_as(self, of, signed):
        """A line that says it is on slip `of`, the signature being made over the digest `signed`."""
        return canonical({"key": self.hex, "of": of, "sig": ed25519.sign(self.seed, bytes.fromhex(signed)).hex()})


ADAS, BENS, BENS_NEXT, CATS, EVIL = (Key(name) for name in ("Ada", "Ben", "Ben, later", "Cat", "nobody"))


def gives(person, key, before=None, at="2026-03-01T10:00:00Z", by=None, **more):
    """The slip by which somebody gives a key."""
    members = {"key": key.hex, **({"key_before": before.hex} if before else {})}
    return slip(person, members, by=by or person, at=at, **more)


def signed(line, *keys):
    """The line and signatures on it."""
    return [line] + [key.sign(line) for key in keys]


def begins(person, key, **more):
    return signed(gives(person, key, **more), key)


__all__ = ["ADA", "BEN", "ADAS", "BENS", "BENS_NEXT", "CATS", "EVIL", "Key", "begins", "gives", "signed"]
