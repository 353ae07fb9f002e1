#!/usr/bin/env python3
"""Speaks the bundled practice scenarios with Kokoro-82M voices, in a room with some noise.

    python make-recordings.py --kokoro kokoro.int8.onnx --phonemes kokoro-config.json --voices voices \\
        --scenarios ../../src/packs/shoulder-dystocia/scenarios --out ../../static/practice

Reads every SCENARIO.json and writes the file that its `recording` names (.wav: 16 kHz, 16 bit, mono; .ogg: Opus),
each line beginning at its `atMs`. Same seed and same ingredients give the same samples. Needs espeak-ng and, for
Opus, ffmpeg. README.md beside this file says where the ingredients come from.
"""
import argparse
import hashlib
import json
import re
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import onnxruntime
import soundfile
from scipy.signal import butter, fftconvolve, resample_poly, sosfilt

RATE = 16000
SPELLING = {"ʲ": "j", "r": "ɹ", "x": "k", "ɬ": "l", "\u200d": ""}  # espeak-ng's signs -> Kokoro's
SPEECH_PEAK = 0.45
AIR_DB = -47  # ventilation, relative to full scale
CORRIDOR_DB = -54  # people talking beyond the door: heard by a listener, too faint to be taken for a call-out
CORRIDOR = [  # never about the birth: it must log nothing
    ("bm_george", "have you seen the porter he was here a moment ago"),
    ("bf_emma", "the lift on this floor is out of order again"),
    ("bm_fable", "i left the blue folder on the desk by the window"),
    ("bf_isabella", "is there any tea left in the kitchen"),
    ("bm_george", "they said the car park is full until the evening"),
    ("bf_emma", "could you sign for this parcel before you go home"),
]


class Kokoro:
    def __init__(self, model, phonemes, cache=None):
        self.cache = cache
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        self.session = onnxruntime.InferenceSession(model, options, providers=["CPUExecutionProvider"])
        self.vocabulary = json.loads(Path(phonemes).read_text())["vocab"]  # {phoneme sign: id}

    def phonemes(self, text, accent):
        plain = re.sub(r"[^A-Za-z' ]", " ", text)
        run = subprocess.run(["espeak-ng", "-q", "--ipa", "-v", accent, plain], capture_output=True, text=True, check=True)
        line = " ".join(run.stdout.split())
        for theirs, ours in SPELLING.items():
            line = line.replace(theirs, ours)
        return "".join(sign for sign in line if sign in self.vocabulary) + "."

    def speak(self, text, voice, accent, speed):
        """-> [samples] at 16 kHz, silence cut, peak 1; from the cache where it was spoken before."""
        key = hashlib.sha256(repr((text, accent, speed)).encode() + voice.tobytes()).hexdigest()[:24]
        kept = self.cache / f"{key}.npy" if self.cache else None
        if kept and kept.exists():
            return np.load(kept)
        said = self.synthesise(text, voice, accent, speed)
        if kept:
            np.save(kept, said)
        return said

    def synthesise(self, text, voice, accent, speed):
        """voice: style vectors [510, 256], one per phoneme count."""
        ids = [self.vocabulary[sign] for sign in self.phonemes(text, accent)][:508]
        audio = self.session.run(None, {
            "tokens": np.array([[0] + ids + [0]], np.int64),
            "style": voice[min(len(ids), len(voice) - 1)][None],
            "speed": np.array([speed], np.float32),
        })[0].reshape(-1)
        audio = resample_poly(audio, 2, 3)
        audio = audio / np.abs(audio).max()
        loud = np.where(np.abs(audio) > .02)[0]
        return audio[max(0, loud[0] - 160):loud[-1] + 1600]


def load_voice(folder, name):
    return np.fromfile(Path(folder) / f"{name}.bin", np.float32).reshape(-1, 256)


def room(rng, seconds, wet):
    """Impulse response: direct sound, then a decaying noise tail (`seconds` to -60 dB), `wet` of the energy."""
    t = np.arange(int(RATE * seconds)) / RATE
    tail = rng.standard_normal(len(t)) * np.exp(-6.9 * t / seconds)
    tail[:80] = 0
    tail *= np.sqrt(wet / (1 - wet)) / np.linalg.norm(tail)
    tail[0] = 1
    return tail


def at_level(sound, db):
    return sound / max(1e-9, sound.std()) * 10 ** (db / 20)


def air(rng, count):
    """Ventilation: noise that falls with frequency, slowly swelling."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    frequency = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 40)
    hiss = np.fft.irfft(spectrum * (frequency / 200) ** -.9, n=count)
    swell = 1 + .25 * np.sin(2 * np.pi * np.arange(count) / RATE / 17)
    return at_level(hiss * swell, AIR_DB)


def monitor(count):
    """A soft, regular blip of a monitor."""
    seconds = np.arange(count) / RATE
    phase = seconds % 1.37
    blip = np.sin(2 * np.pi * 880 * seconds) * np.sin(np.pi * np.clip(phase / .06, 0, 1)) * (phase < .06)
    return blip * .006


def corridor(kokoro, args, rng, count):
    """Faint talk through a door, one sentence about every nine seconds."""
    out = np.zeros(count)
    door = butter(2, 900, "low", fs=RATE, output="sos")
    at, turn = int(3.1 * RATE), 0
    while True:
        name, text = CORRIDOR[turn % len(CORRIDOR)]
        voice = kokoro.speak(text, load_voice(args.voices, name), "en-gb", 1.0)
        voice = at_level(fftconvolve(sosfilt(door, voice), room(rng, .6, .6)), CORRIDOR_DB)
        if at + len(voice) > count:
            return out
        out[at:at + len(voice)] += voice
        at, turn = at + len(voice) + int(rng.uniform(4, 9) * RATE), turn + 1


def record(kokoro, args, scenario):
    """-> (samples, [(text, end in ms)]): the whole scene."""
    rng = np.random.default_rng(args.seed)
    count = scenario["lengthMs"] * RATE // 1000
    speakers = {s["id"]: s for s in scenario["speakers"]}
    rooms = {name: room(rng, .35, .12 + .06 * k) for k, name in enumerate(speakers)}
    loudness = {name: SPEECH_PEAK * (1 - .12 * k) for k, name in enumerate(speakers)}
    scene, ends = air(rng, count) + monitor(count) + corridor(kokoro, args, rng, count), []
    for line in scenario["lines"]:
        speaker = speakers[line["speaker"]]
        voice = load_voice(args.voices, speaker["voice"])
        said = kokoro.speak(line.get("spoken", line["text"]), voice, speaker["accent"], speaker["speed"])
        end = line["atMs"] + len(said) * 1000 // RATE
        said = fftconvolve(said, rooms[speaker["id"]])
        said *= loudness[speaker["id"]] / np.abs(said).max()
        first = line["atMs"] * RATE // 1000
        said = said[:count - first]
        scene[first:first + len(said)] += said
        ends.append((line["text"], end))
    return np.clip(scene, -1, 1), ends


def check_gaps(scenario, ends):
    """Two lines must not run into each other; the last must end inside the recording."""
    starts = [line["atMs"] for line in scenario["lines"][1:]] + [scenario["lengthMs"]]
    for (text, end), following in zip(ends, starts):
        if following - end < 500:
            raise SystemExit(f"{scenario['id']}: '{text}' ends at {end} ms, the next begins at {following} ms")


def write(path, samples):
    if path.suffix == ".wav":
        soundfile.write(path, samples, RATE, subtype="PCM_16")
        return
    with tempfile.NamedTemporaryFile(suffix=".wav") as wav:
        soundfile.write(wav.name, samples, RATE, subtype="PCM_16")
        subprocess.run(["ffmpeg", "-loglevel", "error", "-y", "-i", wav.name, "-c:a", "libopus", "-b:a", "28k", "-vbr", "on",
                        "-map_metadata", "-1", "-fflags", "+bitexact", "-flags:a", "+bitexact", str(path)], check=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--kokoro", required=True, help="the ONNX model, its four parts joined")
    parser.add_argument("--phonemes", required=True, help="config.json of kokoro-onnx")
    parser.add_argument("--voices", required=True, help="folder of NAME.bin from kokoro-js")
    parser.add_argument("--scenarios", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--only", help="id of one scenario")
    parser.add_argument("--cache", type=Path, help="folder that keeps spoken lines for the next run")
    parser.add_argument("--seed", type=int, default=7)
    args = parser.parse_args()
    if args.cache:
        args.cache.mkdir(parents=True, exist_ok=True)
    kokoro = Kokoro(args.kokoro, args.phonemes, args.cache)
    args.out.mkdir(parents=True, exist_ok=True)
    for file in sorted(args.scenarios.glob("*.json")):
        scenario = json.loads(file.read_text())
        if args.only in (None, scenario["id"]):
            samples, ends = record(kokoro, args, scenario)
            check_gaps(scenario, ends)
            write(args.out / scenario["recording"], samples)
            print(f"{scenario['recording']}: {len(samples) / RATE:.0f} s, {len(ends)} lines")


if __name__ == "__main__":
    main()
