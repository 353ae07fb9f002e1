#!/usr/bin/env python3
"""Puts clips into streams as a microphone would hear them: a bed of noise without gaps, ten call-outs, pauses between.

    python make_streams.py --pack SETS --out packed.ogg          # clips in one file, to travel
    python make_streams.py --clips packed.ogg --babble people.ogg --out STREAMS

Writes STREAMS/SET.VOICE.CONDITION.K.wav (16 kHz) and .json: {"set", "voice", "condition", "spoken": [{"text", "fromMs",
"toMs", "entries"?, "when"?}]}. Conditions: quiet (a floor of -70 dBFS), babble 10 and 5 dB (five talkers at once, their
pauses cut out), steady 10 dB (air: pink noise). The ratio is that of the speech's active part (frames within 30 dB of
its loudest) to the noise. Every stream has its own noise, fixed by its name. A minute; no accelerator.
"""
import argparse
import json
import zlib
from pathlib import Path

import numpy as np
import soundfile

RATE, FRAME, TALKERS, EACH = 16000, 320, 5, 10
BED = .025  # root mean square of the noise
CONDITIONS = {"quiet": (None, None), "babble-10": ("babble", 10), "babble-5": ("babble", 5), "babble-15": ("babble", 15),
              "steady-10": ("steady", 10)}
WANTED = {"opposites": ("quiet", "babble-10", "steady-10"), "numbers": ("quiet", "babble-10", "babble-5"),
          "answers": ("quiet", "babble-10"), "digits": ("quiet", "babble-15", "babble-10"), "talk": ("quiet", "babble-10")}


def levels(audio):
    """Root mean square of each 20 ms."""
    frames = audio[:len(audio) // FRAME * FRAME].reshape(-1, FRAME)
    return np.sqrt((frames ** 2).mean(1) + 1e-12)


def active(audio):
    """Root mean square over the frames within 30 dB of the loudest."""
    level = levels(audio)
    loud = level > level.max() * 10 ** (-30 / 20)
    return float(np.sqrt((level[loud] ** 2).mean()))


def dense(audio):
    """Speech without its pauses: frames more than 30 dB below the loudest tenth are cut out."""
    level = levels(audio)
    frames = audio[:len(level) * FRAME].reshape(-1, FRAME)
    return frames[level > np.quantile(level, .9) * 10 ** (-30 / 20)].reshape(-1)


def bed(kind, length, speech, rng):
    if kind == "babble":
        out = np.zeros(length)
        for _ in range(TALKERS):
            at = rng.integers(0, len(speech) - length)
            out += speech[at:at + length] / active(speech[at:at + length])
    elif kind == "steady":
        spectrum = np.fft.rfft(rng.standard_normal(length))
        spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)) * RATE / length, 20))
        out = np.fft.irfft(spectrum, length)
    else:
        return rng.standard_normal(length) * 10 ** (-70 / 20)
    return out / np.sqrt((out ** 2).mean()) * BED


def stream(clips, condition, speech, rng):
    """[(audio, said)] -> (samples, [said with its place])."""
    kind, snr = CONDITIONS[condition]
    at, places = 5 * RATE, []
    for audio, _ in clips:
        places.append(at)
        at += len(audio) + round(rng.uniform(2.5, 4) * RATE)
    out, spoken = bed(kind, at, speech, rng), []
    for (audio, said), place in zip(clips, places):
        gain = BED * 10 ** (snr / 20) / active(audio) if kind else .35 / np.abs(audio).max()
        out[place:place + len(audio)] += audio * gain
        spoken.append({**said, "fromMs": round(place / RATE * 1000), "toMs": round((place + len(audio)) / RATE * 1000)})
    return np.clip(out, -1, 1), spoken


def pack(folder, out):
    pieces, index, at = [], [], 0
    for file in sorted(folder.glob("*/*/*.wav")):
        audio, _ = soundfile.read(file, dtype="float32")
        said = {"text": file.with_suffix(".txt").read_text()} if file.with_suffix(".txt").exists() else {"text": ""}
        if file.with_suffix(".json").exists():
            said |= json.loads(file.with_suffix(".json").read_text())
        index.append([file.parts[-3], file.parts[-2], at, len(audio), said])
        pieces.append(audio)
        at += len(audio)
    audio = np.concatenate(pieces)
    with soundfile.SoundFile(out, "w", RATE, 1, format="OGG", subtype="VORBIS", compression_level=.7) as file:
        for k in range(0, at, RATE * 20):
            file.write(audio[k:k + RATE * 20])
    out.with_suffix(".json").write_text(json.dumps(index))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--pack", type=Path)
    parser.add_argument("--clips", type=Path)
    parser.add_argument("--babble", type=Path, help="people speaking, in one file")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--only", nargs="+", help="just these conditions")
    args = parser.parse_args()
    if args.pack:
        return pack(args.pack, args.out)
    speech = dense(soundfile.read(args.babble)[0])
    audio = soundfile.read(args.clips)[0]
    groups = {}
    for name, voice, at, length, said in json.loads(args.clips.with_suffix(".json").read_text()):
        groups.setdefault((name, voice), []).append((audio[at:at + length], said))
    args.out.mkdir(parents=True, exist_ok=True)
    for (name, voice), clips in groups.items():
        for condition in WANTED[name]:
            if args.only and condition not in args.only:
                continue
            order = np.random.default_rng(zlib.crc32(f"{name} {voice}".encode())).permutation(len(clips))
            for k in range(0, len(clips), EACH):
                stem = f"{name}.{voice}.{condition}.{k // EACH:02d}"
                rng = np.random.default_rng(zlib.crc32(stem.encode()))
                samples, spoken = stream([clips[n] for n in order[k:k + EACH]], condition, speech, rng)
                soundfile.write(args.out / f"{stem}.wav", samples, RATE, subtype="PCM_16")
                told = {"set": name, "voice": voice, "condition": condition, "spoken": spoken}
                (args.out / f"{stem}.json").write_text(json.dumps(told))


if __name__ == "__main__":
    main()
