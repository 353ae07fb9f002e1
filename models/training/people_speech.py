#!/usr/bin/env python3
"""Gathers speech of people in other languages, without its words: the encoder learns from it to hear through noise.

    python people_speech.py --root / --out speech/people            # writes people.raw, people.jsonl
    python people_speech.py --pack speech/people --out people.ogg   # one file, to travel
    python people_speech.py --unpack people.ogg --out speech/people

Sources, all Debian packages, unpacked or installed below --root: fillets-ng-data-cs, fillets-ng-data-nl, klettres-data,
ktuberling-data, asterisk-core-sounds-fr-g722, -it-g722, -ru-g722. English recordings are left out, and so is the voice
of asterisk-core-sounds-en: they measure. Pieces of at most 6 s, 16 kHz, peak 0.5. Needs ffmpeg; two minutes on a core.
"""
import argparse
import json
import subprocess
from pathlib import Path

import numpy as np
import soundfile

from augment import RATE
from compare_states import write_ogg
from speak import Pool

FOLDERS = ("usr/share/games/fillets-ng/sound/*/cs", "usr/share/games/fillets-ng/sound/*/nl",
           "usr/share/games/fillets-ng/sound/share/*/cs", "usr/share/games/fillets-ng/sound/share/*/nl",
           "usr/share/klettres/*/alpha", "usr/share/klettres/*/syllab", "usr/share/ktuberling/sounds/*",
           "usr/share/asterisk/sounds/fr_CA_f_June/**", "usr/share/asterisk/sounds/it_IT_m_Carlo/**",
           "usr/share/asterisk/sounds/ru_RU_f_IvrvoiceRU/**")
SUFFIXES = {".ogg", ".g722", ".wav", ".mp3", ".opus"}
LONGEST = 6 * RATE


def read(file):
    """Any recording -> float samples at 16 kHz, or None where ffmpeg cannot read it."""
    given = ["-f", "g722"] if file.suffix == ".g722" else []
    run = subprocess.run(["ffmpeg", "-v", "error", *given, "-i", file, "-ac", "1", "-ar", str(RATE), "-f", "s16le", "-"],
                         capture_output=True)
    return np.frombuffer(run.stdout, np.int16) / 32768 if run.returncode == 0 else None


def pieces(audio):
    """Cuts silence at the ends off, and long recordings where they are quietest -> pieces of 0.25 to 6 s."""
    loud = np.where(np.abs(audio) > .02 * np.abs(audio).max())[0]
    audio = audio[max(0, loud[0] - 800):loud[-1] + 1600]
    while len(audio) > LONGEST:
        level = np.convolve(np.abs(audio[LONGEST // 2:LONGEST]), np.ones(1600), "same")
        cut = LONGEST // 2 + int(level.argmin())
        yield audio[:cut]
        audio = audio[cut:]
    if len(audio) >= RATE // 4:
        yield audio


def gather(root, pool):
    files = sorted({f for pattern in FOLDERS for f in Path(root).glob(pattern + "/*") if f.suffix in SUFFIXES})
    for file in files:
        if any(part == "en" or part.startswith("en_") for part in file.parts):
            continue
        audio = read(file)
        if audio is None or len(audio) < RATE // 4 or np.abs(audio).max() < .01:
            continue
        for piece in pieces(audio):
            pool.add(piece / max(1e-4, np.abs(piece).max()) * .5, {"text": "", "kind": "wordless"})
    return len(files)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--root", type=Path)
    parser.add_argument("--pack", type=Path)
    parser.add_argument("--unpack", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    if args.pack:
        audio = np.fromfile(args.pack / "people.raw", np.int16)
        args.out.with_suffix(".jsonl").write_text((args.pack / "people.jsonl").read_text())
        write_ogg(args.out, audio, compression_level=1)
        return
    args.out.mkdir(parents=True, exist_ok=True)
    if args.unpack:
        soundfile.read(args.unpack, dtype="int16")[0].tofile(args.out / "people.raw")
        (args.out / "people.jsonl").write_text(args.unpack.with_suffix(".jsonl").read_text())
        return
    pool = Pool(f"{args.out}/people")
    print(f"{gather(args.root, pool)} files, {pool.count} pieces, {pool.position / RATE / 60:.0f} min")


if __name__ == "__main__":
    main()
