#!/usr/bin/env python3
"""Speaks unseen.txt by voices that no training, no threshold and no choice of a state ever heard.

    python make_unseen.py --out SETS --pico pico2wave --gnuspeech node_modules/@echogarden/gnuspeech-wasm

Writes OUT/SET/VOICE/NNN.wav (16 kHz, speech at peak 0.5, 0.05 s of silence around), .txt (words) and .json
({"entries": […], "when": …}). Five voices of three engines: SVOX Pico en-GB and en-US (Debian libttspico-utils, non-free),
Festival's ked (Debian festvox-kdlpc16k), Gnuspeech male and female (npm @echogarden/gnuspeech-wasm, needs
wasm-heap-manager). None of them is a flite voice. --joe adds the natural voice that earlier choices did hear, by new
wordings; --espeak adds four espeak-ng voices to choose thresholds by: neither counts as unseen.
Every voice speaks every wording of `opposites` (120 times 5), `numbers` and `answers`, values drawn afresh. Minutes.
"""
import argparse
import json
import random
import re
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile

from make_sets import RATE, entries_of, trimmed, value
from numbers_said import whole
from texts import spoken

HERE = Path(__file__).parent
ESPEAK = ["en-gb-x-rp+f2", "en-us+m4", "en-gb-scotland+f4", "en-gb+m3"]


def clock(rng):
    """-> (words, "HH:MM") as on a ward: "fourteen thirty two", "three oh five"."""
    hour, minute = rng.randrange(1, 24), rng.randrange(60)
    words = "hundred hours" if minute == 0 else f"oh {whole(minute)}" if minute < 10 else whole(minute)
    return f"{whole(hour)} {words}", f"{hour:02d}:{minute:02d}"


def draw(name, rng):
    if name == "clock":
        return clock(rng)
    if name == "ago":
        n = rng.randrange(2, 16)
        return whole(n), n
    if name == "mils":
        return value("millilitres", rng)
    return value(name, rng)


def lines(seed):
    """unseen.txt -> [(set, words, expected or None)], every slot drawn."""
    rng, out = random.Random(seed), []
    for line in (HERE / "unseen.txt").read_text().splitlines():
        if not line or line.startswith("#"):
            continue
        name, wording, notation = (line.split("\t") + ["-"])[:3]
        drawn = {slot: draw(slot, rng) for slot in re.findall(r"\{(\w+)\}", wording)}

        def fill(text, part):
            return re.sub(r"\{(\w+)\}", lambda m: str(drawn[m[1]][part]), text)
        words = fill(wording, 0).replace("at one minutes", "at one minute")
        entries, _, time = fill(notation, 1).partition(" @")
        expected = entries_of(entries)
        if expected is not None:
            expected = {"entries": expected}
            if time:
                ago = re.fullmatch(r"-(\d+)m", time)
                expected["when"] = {"agoSeconds": 60 * int(ago[1])} if ago else {"clock": time}
        out.append((name, words, expected))
    return out


def by_file(command, text_at=None):
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        subprocess.run([part.replace("OUT", file.name) for part in command], check=True, input=text_at,
                       capture_output=True, text=True)
        return trimmed(*soundfile.read(file.name))


def pico(program, language):
    return lambda texts, _: [by_file([program, "-l", language, "-w", "OUT", text]) for text in texts]


def festival(texts, _):
    out = []
    for text in texts:
        script = f'(voice_ked_diphone)\n(utt.save.wave (utt.synth (Utterance Text "{text}")) "%s" \'riff)\n'
        with tempfile.NamedTemporaryFile(suffix=".wav") as file, tempfile.NamedTemporaryFile("w", suffix=".scm") as scm:
            scm.write(script % file.name)
            scm.flush()
            subprocess.run(["festival", "-b", scm.name], check=True, capture_output=True)
            out.append(trimmed(*soundfile.read(file.name)))
    return out


def gnuspeech(package, voice, tempo):
    def speak(texts, folder):
        job = Path(folder) / "job.json"
        job.write_text(json.dumps(texts))
        script = f"""import {{ readFileSync, writeFileSync }} from 'node:fs';
            import {{ synthesize }} from '{Path(package).resolve()}/dist/exports/GnuSpeech.js';
            for (const [k, text] of JSON.parse(readFileSync('{job}', 'utf8')).entries())
              writeFileSync('{folder}/' + k + '.wav',
                (await synthesize(text, {{ voice: '{voice}', tempo: {tempo}, controlRate: 250 }})).audioData);"""
        subprocess.run(["node", "--input-type=module", "-e", script], check=True, capture_output=True)
        return [trimmed(*soundfile.read(f"{folder}/{k}.wav")) for k in range(len(texts))]
    return speak


def other(path):
    def speak(texts, _):
        from speak_other import OtherVoice
        voice = OtherVoice(path, 77)
        return [trimmed(*voice(text, .95)) for text in texts]
    return speak


def espeak(voice):
    return lambda texts, _: [by_file(["espeak-ng", "-v", voice, "-s", "165", "-w", "OUT", text]) for text in texts]


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--pico", help="pico2wave")
    parser.add_argument("--festival", action="store_true")
    parser.add_argument("--gnuspeech", help="folder of the package")
    parser.add_argument("--joe", help="en_US-joe-medium.onnx")
    parser.add_argument("--espeak", action="store_true")
    parser.add_argument("--seed", type=int, default=2200)
    args = parser.parse_args()
    voices = {}
    if args.pico:
        voices |= {"pico-gb": pico(args.pico, "en-GB"), "pico-us": pico(args.pico, "en-US")}
    if args.festival:
        voices["festival-ked"] = festival
    if args.gnuspeech:
        voices |= {"gnuspeech-male": gnuspeech(args.gnuspeech, "male", 1.0),
                   "gnuspeech-female": gnuspeech(args.gnuspeech, "female", .95)}
    if args.joe:
        voices["joe"] = other(args.joe)
    if args.espeak:
        voices |= {f"espeak-{name}": espeak(name) for name in ESPEAK}
    for voice, speak in voices.items():
        # Values differ from voice to voice.
        drawn = lines(args.seed + sum(map(ord, voice)))
        with tempfile.TemporaryDirectory() as folder:
            sounds = speak([spoken(words) for _, words, _ in drawn], folder)
        for k, ((name, words, expected), audio) in enumerate(zip(drawn, sounds)):
            if audio is None:
                print(f"{voice} said nothing for: {words}")
                continue
            place = args.out / name / voice
            place.mkdir(parents=True, exist_ok=True)
            soundfile.write(place / f"{k:03d}.wav", audio / np.abs(audio).max() * .5, RATE, subtype="PCM_16")
            (place / f"{k:03d}.txt").write_text(words)
            if expected is not None:
                (place / f"{k:03d}.json").write_text(json.dumps(expected))
        print(voice, len(drawn), flush=True)


if __name__ == "__main__":
    main()
