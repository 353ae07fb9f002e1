"""Lines of people acting a story in English, out of one file of Debian's flight-of-the-amazon-queen (queen.1c): 4.6
hours by several voices, 11 kHz, MPEG audio at 16 kbit/s. The story is of no birth: nothing of them may be logged.

The file begins with "QTBL", six bytes of its version, a 0 and the kind of compression (1 here), the count of parts
(16 bits, the high byte first), and for each its name (12 bytes), one byte, and its place and length (32 bits each).
That was read off the file itself.
"""
import io
import struct

import soundfile

HEAD, ROW = 15, 21


def lines_in(file):
    """Yields (name, samples, rate) of every spoken line, in the order of their names."""
    data = file.read_bytes()
    if data[:4] != b"QTBL" or data[12] != 1:
        raise ValueError(f"{file} does not hold speech as this expects it")
    count = struct.unpack(">H", data[13:15])[0]
    parts = []
    for at in range(HEAD, HEAD + ROW * count, ROW):
        place, length = struct.unpack(">II", data[at + 13:at + ROW])
        parts.append((data[at:at + 12].split(b"\0")[0].decode("ascii"), place, length))
    for name, place, length in sorted(part for part in parts if part[0].endswith(".SB")):
        audio, rate = soundfile.read(io.BytesIO(data[place:place + length]), dtype="float32")
        yield name.removesuffix(".SB"), audio, rate
