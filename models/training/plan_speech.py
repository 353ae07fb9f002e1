#!/usr/bin/env python3
"""Decides who says what: texts, phonemes, mixed voices, speeds. Speaking them is speak.py's part.

    python plan_speech.py --sentences /usr/share/games/fortunes --count 12000 --seed 100 --out plan.jsonl

One JSON object a line: {"kind", "text", "phonemes", "voices": [[name, share], …], "speed"}. Needs espeak-ng.
A minute for 10,000 lines on one core. With --lines FILE the texts of that file are planned instead (one a line),
and with --held-out only the voices that training never hears speak, unmixed.
"""
import argparse
import json
import random
import re
import subprocess
from pathlib import Path

import texts

KEPT = Path(__file__).parent.parent / "export" / "kept-tokens.json"
BATCH = 64  # texts per run of espeak-ng
HELD_OUT = ["af_nova", "am_michael", "bf_lily", "bm_lewis", "af_kore", "am_liam"]
ACCENTS = {"en-gb": .42, "en-us": .30, "en-gb-x-rp": .10, "en-gb-scotland": .08, "en-gb-x-gbclan": .06,
           "en-gb-x-gbcwmd": .04}
SPELLING = {"ʲ": "j", "r": "ɹ", "x": "k", "ɬ": "l", "\u200d": ""}  # espeak-ng's signs -> Kokoro's


def phonemes_of(lines, accent, signs):
    """Texts -> phoneme strings, or None where espeak-ng gave another number of lines."""
    text = "\n".join(re.sub(r"[^A-Za-z' ]", " ", line) for line in lines) + "\n"  # no stops: one line stays one
    run = subprocess.run(["espeak-ng", "-q", "--ipa", "-v", accent], input=text, capture_output=True, text=True,
                         check=True)
    out = [line.strip() for line in run.stdout.split("\n") if line.strip()]
    if len(out) != len(lines):
        return None
    for theirs, ours in SPELLING.items():
        out = [line.replace(theirs, ours) for line in out]
    return ["".join(sign for sign in line if sign in signs) for line in out]


def mixed_voice(names, rng):
    """35 % one English voice, 45 % two mixed, 20 % one mixed with a voice of another language."""
    english = [v for v in names if v[0] in "ab" and v not in HELD_OUT]
    british = [v for v in english if v[0] == "b"]
    others = [v for v in names if v[0] not in "ab"]

    def some():
        return rng.choice(british if rng.random() < .35 else english)
    dice = rng.random()
    if dice < .35:
        return [[some(), 1]]
    second, share = (some(), rng.random()) if dice < .8 else (rng.choice(others), rng.uniform(.25, .7))
    return [[some(), round(share, 3)], [second, round(1 - share, 3)]]


def writable_by(tokenizer):
    """-> does a text consist of tokens that the app keeps?"""
    from tokenizers import Tokenizer
    kept, words = set(json.loads(KEPT.read_text())), Tokenizer.from_file(tokenizer)
    return lambda text: kept.issuperset(words.encode(" " + text, add_special_tokens=False).ids)


def speed(rng):
    """Mostly brisk; a tenth hurried, a tenth slow."""
    dice = rng.random()
    return round(rng.uniform(1.3, 1.5) if dice < .12 else rng.uniform(.85, 1) if dice < .3 else rng.uniform(1, 1.3), 3)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    texts.add_arguments(parser)
    parser.add_argument("--phonemes", required=True, help="config.json of kokoro-onnx")
    parser.add_argument("--voices", required=True, help="folder of NAME.bin from kokoro-js")
    parser.add_argument("--tokenizer", help="tokenizer.json of Whisper: leave out texts that need a token the app lacks")
    parser.add_argument("--lines", type=Path, help="speak these texts, one a line, instead of generated ones")
    parser.add_argument("--held-out", action="store_true")
    parser.add_argument("--kind", nargs="+", help="just these kinds of text, all alike often")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=100)
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    signs = set(json.loads(Path(args.phonemes).read_text())["vocab"])
    names = sorted(f.stem for f in Path(args.voices).glob("*.bin"))
    given = [line for line in args.lines.read_text().splitlines() if line] if args.lines else None
    source = texts.make(args) if given is None else None
    writable = writable_by(args.tokenizer) if args.tokenizer else lambda text: True
    count, made = len(given) if given else args.count, 0
    args.out.parent.mkdir(parents=True, exist_ok=True)
    with open(args.out, "w") as out:
        while made < count:
            batch = ([("given", line, texts.spoken(line)) for line in given[made:made + BATCH]] if given else
                     [source.draw(rng, args.kind and rng.choice(args.kind)) for _ in range(min(BATCH, count - made))])
            batch = [drawn for drawn in batch if given or writable(drawn[1])]
            if not batch:
                continue
            accent = rng.choices(list(ACCENTS), list(ACCENTS.values()))[0]
            found = phonemes_of([said for _, _, said in batch], accent, signs)
            if found is None and given:  # one by one, so that none is lost
                found = [(phonemes_of([said], accent, signs) or [""])[0] for _, _, said in batch]
            for (kind, text, _), phonemes in zip(batch, found or []):
                voices = [[rng.choice(HELD_OUT), 1]] if args.held_out else mixed_voice(names, rng)
                out.write(json.dumps({"kind": kind, "text": text, "phonemes": phonemes + rng.choice("...!,?"),
                                      "voices": voices, "speed": speed(rng)}, ensure_ascii=False) + "\n")
            made += len(batch)


if __name__ == "__main__":
    main()
