#!/usr/bin/env python3
"""Speaks a plan (plan_speech.py) with Kokoro-82M on CPU cores: OUT.raw (int16, 16 kHz, mono) and OUT.jsonl.

    python speak.py --kokoro kokoro.int8.onnx --phonemes config.json --voices voices --plan plan.jsonl --out speech/k0 \\
        --share 0/2

OUT.jsonl: [first sample, samples, text, kind] per utterance. --share K/N speaks every Nth line from K on: one
process a core. About 1.4 s of speech per second and core; no accelerator (speak_fast.py uses one).
With --folder the utterances become OUT/NNN.wav + NNN.txt instead, for evaluation.
"""
import argparse
import json
import math
import time
from pathlib import Path

import numpy as np
from scipy.signal import resample_poly

RATE = 16000
GAP = 1600  # samples of silence between utterances


def load_voices(folder):
    """{name: [510, 256]} of every NAME.bin (float32, 510 x 1 x 256)."""
    return {f.stem: np.fromfile(f, np.float32).reshape(-1, 256) for f in sorted(Path(folder).glob("*.bin"))}


def style_of(line, voices, length):
    """Style vector [1, 256] for `length` phonemes of the line's voices, mixed by their shares."""
    return sum(share * voices[name][min(length, len(voices[name]) - 1)] for name, share in line["voices"])[None]


def tidy(audio):
    """24 kHz -> 16 kHz, peak 0.7, silence cut to 0.05 s before and 0.1 s after; None where nothing was said."""
    audio = resample_poly(audio, 2, 3)
    audio = audio / max(1e-4, np.abs(audio).max()) * .7
    loud = np.where(np.abs(audio) > .01)[0]
    return audio[max(0, loud[0] - 800):loud[-1] + 1600] if len(loud) else None


class Speaker:
    def __init__(self, model, phonemes, voices):
        import onnxruntime
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        self.session = onnxruntime.InferenceSession(model, options, providers=["CPUExecutionProvider"])
        self.signs = json.loads(Path(phonemes).read_text())["vocab"]
        self.voices = load_voices(voices)

    def __call__(self, line):
        """A line of a plan -> float audio [samples] at 16 kHz, or None."""
        ids = [self.signs[sign] for sign in line["phonemes"]][:508]
        return tidy(self.session.run(None, {
            "tokens": np.array([[0] + ids + [0]], np.int64),
            "style": style_of(line, self.voices, len(ids)).astype(np.float32),
            "speed": np.array([line["speed"]], np.float32)})[0].reshape(-1))


class Pool:
    """Writes utterances one after the other."""

    def __init__(self, out):
        Path(out).parent.mkdir(parents=True, exist_ok=True)
        self.raw, self.index, self.position, self.count = open(f"{out}.raw", "wb"), open(f"{out}.jsonl", "w"), 0, 0

    def add(self, audio, line):
        samples = (audio * 32767).astype(np.int16)
        self.raw.write(np.concatenate([samples, np.zeros(GAP, np.int16)]).tobytes())
        self.index.write(json.dumps([self.position, len(samples), line["text"], line["kind"]]) + "\n")
        self.position, self.count = self.position + len(samples) + GAP, self.count + 1
        if self.count % 20 == 0:
            self.raw.flush()
            self.index.flush()


class Folder:
    """Writes NAME.wav (0.3 s of silence, speech at peak 0.5, 0.4 s of silence) and NAME.txt."""

    def __init__(self, out):
        import soundfile
        self.soundfile, self.out, self.count, self.position = soundfile, Path(out), 0, 0
        self.out.mkdir(parents=True, exist_ok=True)

    def add(self, audio, line):
        audio = np.concatenate([np.zeros(4800), audio / np.abs(audio).max() * .5, np.zeros(6400)])
        self.soundfile.write(self.out / f"{self.count:03d}.wav", audio, RATE, subtype="PCM_16")
        (self.out / f"{self.count:03d}.txt").write_text(line["text"])
        self.count, self.position = self.count + 1, self.position + len(audio)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    for name in ("kokoro", "phonemes", "voices", "plan", "out"):
        parser.add_argument(f"--{name}", required=True)
    parser.add_argument("--share", default="0/1", help="K/N: every Nth line, from the Kth on")
    parser.add_argument("--folder", action="store_true")
    parser.add_argument("--seconds", type=float, default=math.inf, help="stop after so long")
    args = parser.parse_args()
    first, step = map(int, args.share.split("/"))
    lines = [json.loads(line) for line in Path(args.plan).read_text().splitlines()][first::step]
    speaker, begun = Speaker(args.kokoro, args.phonemes, args.voices), time.time()
    sink = (Folder if args.folder else Pool)(args.out)
    for line in lines:
        audio = speaker(line)
        if audio is not None:
            sink.add(audio, line)
        if time.time() - begun > args.seconds:
            break
    print(f"{sink.count} utterances, {sink.position / RATE:.0f} s of audio in {time.time() - begun:.0f} s")


if __name__ == "__main__":
    main()
