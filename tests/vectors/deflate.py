"""Raw deflate (RFC 1951) in fixed Huffman codes. Our own, so that vectors come out the same to the byte whatever
version of a compression library is installed."""

LENGTHS = [(257 + i, i + 3, 0) for i in range(8)]
for extra in range(1, 6):
    for i in range(4):
        code, base = 265 + 4 * (extra - 1) + i, (1 << (extra + 2)) + (i << extra) + 3
        LENGTHS.append((code, base, extra))
LENGTHS[-1] = (284, 227, 5)
LENGTHS.append((285, 258, 0))

DISTANCES = [(0, 1, 0), (1, 2, 0), (2, 3, 0), (3, 4, 0)]
for extra in range(1, 14):
    for i in range(2):
        DISTANCES.append((2 + 2 * extra + i, (1 << (extra + 1)) + (i << extra) + 1, extra))


class Bits:
    def __init__(self):
        self.value, self.count = 0, 0

    def plain(self, value, count):
        """Lowest bit first."""
        self.value |= value << self.count
        self.count += count

    def huffman(self, code, count):
        """Highest bit first (RFC 1951, 3.1.1)."""
        self.plain(int(format(code, "0%db" % count)[::-1], 2), count)

    def bytes(self):
        return self.value.to_bytes((self.count + 7) // 8, "little")


def put_symbol(bits, symbol):
    """RFC 1951, 3.2.6."""
    if symbol < 144:
        bits.huffman(0x30 + symbol, 8)
    elif symbol < 256:
        bits.huffman(0x190 + symbol - 144, 9)
    elif symbol < 280:
        bits.huffman(symbol - 256, 7)
    else:
        bits.huffman(0xC0 + symbol - 280, 8)


def put_match(bits, length, distance):
    code, base, extra = max(entry for entry in LENGTHS if entry[1] <= length)
    put_symbol(bits, code)
    bits.plain(length - base, extra)
    code, base, extra = max(entry for entry in DISTANCES if entry[1] <= distance)
    bits.huffman(code, 5)
    bits.plain(distance - base, extra)


def match_length(data, at, earlier):
    length = 0
    while length < 258 and at + length < len(data) and data[earlier + length] == data[at + length]:
        length += 1
    return length


def deflate(data):
    """One final block; each place is matched with the latest one that begins with the same four bytes."""
    bits, latest, at = Bits(), {}, 0
    bits.plain(1, 1)
    bits.plain(1, 2)
    while at < len(data):
        key = data[at:at + 4]
        earlier = latest.get(key)
        step = 1
        if len(key) == 4 and earlier is not None and at - earlier <= 32768:
            step = match_length(data, at, earlier)
            put_match(bits, step, at - earlier)
        else:
            put_symbol(bits, data[at])
        for place in range(at, min(at + step, at + 64)):
            latest[data[place:place + 4]] = place
        at += step
    put_symbol(bits, 256)
    return bits.bytes()


def zeros(count):
    """`count` zero bytes, as small as deflate can: a dynamic block (RFC 1951, 3.2.7) in which a match of 258 bytes
    takes two bits."""
    bits = Bits()
    bits.plain(1, 1)
    bits.plain(2, 2)
    bits.plain(286 - 257, 5)
    bits.plain(1 - 1, 5)
    order = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1]
    lengths = {18: 1, 1: 2, 2: 2}
    bits.plain(len(order) - 4, 4)
    for symbol in order:
        bits.plain(lengths.get(symbol, 0), 3)
    one, two, run = (0b10, 2), (0b11, 2), (0, 1)

    def skip(number):
        bits.huffman(*run)
        bits.plain(number - 11, 7)

    bits.huffman(*two)  # literal 0
    skip(138)
    skip(117)
    bits.huffman(*two)  # 256, the end
    skip(28)
    bits.huffman(*one)  # 285, a match of 258
    bits.huffman(*one)  # distance 1
    rest = (count - 1) % 258
    for _ in range(1 + rest):
        bits.huffman(0b10, 2)
    for _ in range((count - 1) // 258):
        bits.huffman(0, 1)
        bits.huffman(0, 1)
    bits.huffman(0b11, 2)
    return bits.bytes()
