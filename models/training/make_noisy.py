#!/usr/bin/env python3
"""Copies a set with noise and, if wished, a room: the same seed always gives the same noise.

    python make_noisy.py --set SETS/call-outs-espeak --voices SETS/people-prompts --kind babble --snr 10 --out NOISY

Writes NOISY/SET.KIND.SNR.SEED. Kinds: babble (people's prompts, several at once), hum, alarm, cry, suction, clatter,
steady, mixed (two of the others but babble, drawn for each file). The ratio in dB is over the speech's louder part.
A minute for 300 files on one core; no accelerator.
"""
import argparse
import shutil
import zlib
from pathlib import Path

import numpy as np
import soundfile
import torch

from augment import KINDS, RATE, Noise

MIXED = [k for k in KINDS if k not in ("babble", "talker")]


def room(rng):
    """0.5 s: direct sound, then a tail that falls 60 dB in 0.3 to 0.7 s."""
    t = torch.arange(RATE // 2) / RATE
    tail = torch.randn(len(t)) * torch.exp(-6.9 * t / rng.uniform(.3, .7))
    tail[:int(rng.integers(30, 200))] = 0
    tail = tail / tail.norm() * rng.uniform(.4, 1)
    tail[0] = 1
    return tail / tail.norm()


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--set", type=Path, required=True)
    parser.add_argument("--voices", type=Path, required=True, help="folder of WAVs that make the babble")
    parser.add_argument("--kind", choices=(*KINDS[:-1], "mixed"), required=True)
    parser.add_argument("--snr", type=float, required=True, help="dB")
    parser.add_argument("--room", action="store_true", help="reverberation, too")
    parser.add_argument("--every", type=int, default=1, help="only every Nth file")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    torch.set_num_threads(1)
    voices = np.concatenate([soundfile.read(f, dtype="int16")[0][4800:-8000] for f in sorted(args.voices.glob("*.wav"))])
    folder = args.out / f"{args.set.name}.{args.kind}.{args.snr:g}{'.room' if args.room else ''}.{args.seed}"
    folder.mkdir(parents=True, exist_ok=True)
    for file in sorted(args.set.glob("*.wav"))[::args.every]:
        draw = zlib.crc32(f"{folder.name} {file.name}".encode())
        torch.manual_seed(draw)
        rng = np.random.default_rng(draw)
        audio = torch.from_numpy(soundfile.read(file, dtype="float32")[0])
        clean, noise = audio, Noise(torch.from_numpy(voices), len(audio))
        if args.room:
            response, size = room(rng), len(audio) + RATE // 2
            audio = torch.fft.irfft(torch.fft.rfft(audio, n=size) * torch.fft.rfft(response, n=size), n=size)[:len(audio)]
        if args.kind == "mixed":
            weights = torch.zeros(1, len(KINDS))
            weights[0, [KINDS.index(k) for k in rng.choice(MIXED, 2, replace=False)]] = torch.rand(2) * .8 + .2
            made = noise.mixture(weights)[0]
        else:
            made = getattr(noise, args.kind)(1)[0]
        level = audio[clean.abs() > .01].pow(2).mean().sqrt()
        mixed = audio + made / made.std().clamp_min(1e-6) * level * 10 ** (-args.snr / 20)
        soundfile.write(folder / file.name, (mixed / mixed.abs().max().clamp_min(1)).numpy(), RATE, subtype="PCM_16")
        for suffix in (".txt", ".json"):
            if file.with_suffix(suffix).exists():
                shutil.copy(file.with_suffix(suffix), folder)
    print(folder, len(list(folder.glob("*.wav"))))


if __name__ == "__main__":
    main()
