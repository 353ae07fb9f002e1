#!/usr/bin/env python3
"""Word error rates of several decoder states on the same clips and the same noise, many clips at once.

    python compare_states.py --pack SETS --out packed              # one .ogg and one .json a set, to travel
    python compare_states.py --weights weights.npz --tokenizer tokenizer.json --sets packed --states run/state.pt \\
        --out compared.json

Measures the packed state ("tuned") and the untouched one ("base") beside those named, unless --alone; NAME.pt:0.7 means
the state mixed 70 % with the packed one. An accelerator takes a minute; a CPU core about half an hour.
These are float models without the app's bounds on length: for choosing. The app's own numbers come from report.ts.
"""
import argparse
import json
import zlib
from pathlib import Path

import numpy as np
import soundfile
import torch

from augment import KINDS, Noise
from listener import RATE, WINDOW, Decoder, Encoder, LogMel, Words, transcribe, tuned_state
from pack import unpack
from scoring import edits, words_of

CONDITIONS = [("quiet", None, None)] + [(f"{kind} {snr} dB", kind, snr) for kind in ("babble", "mixed") for snr in (20, 10, 5, 0)]
PEOPLE_NOISE = 10  # people are measured in quiet and at this ratio alone


def write_ogg(path, audio, **options):
    """Samples at 16 kHz -> one Vorbis file, in pieces: a single long write overruns the encoder."""
    with soundfile.SoundFile(path, "w", RATE, 1, format="OGG", subtype="VORBIS", **options) as file:
        for k in range(0, len(audio), RATE * 20):
            file.write(audio[k:k + RATE * 20])


def pack(folder, out):
    out.mkdir(parents=True, exist_ok=True)
    for directory in sorted(p for p in folder.iterdir() if p.is_dir()):
        pieces, index, at = [], [], 0
        for file in sorted(directory.glob("*.wav")):
            audio, _ = soundfile.read(file, dtype="float32")
            index.append([at, len(audio), file.with_suffix(".txt").read_text(), file.stem])
            pieces.append(audio)
            at += len(audio)
        write_ogg(out / f"{directory.name}.ogg", np.concatenate(pieces))
        (out / f"{directory.name}.json").write_text(json.dumps(index))


def load(folder):
    """-> {set: (audio [n, window], [text])}; clips longer than the window are cut."""
    sets = {}
    for index in sorted(folder.glob("*.json")):
        audio, _ = soundfile.read(index.with_suffix(".ogg"), dtype="float32")
        rows = [row for row in json.loads(index.read_text()) if row[2]]
        clips = torch.zeros(len(rows), WINDOW)
        for k, (at, length, _, _) in enumerate(rows):
            piece = audio[at:at + min(length, WINDOW)]
            clips[k, :len(piece)] = torch.from_numpy(piece)
        sets[index.stem] = clips, [row[2] for row in rows]
    return sets


def noisy(clips, kind, snr, noise, seed):
    """snr in dB over the louder-than-0.01 part of the speech. The draw depends on the seed alone."""
    torch.manual_seed(seed)
    if kind == "babble":
        made = noise.babble(len(clips))
    else:
        weights = torch.zeros(len(clips), len(KINDS), device=clips.device)
        pool = [KINDS.index(k) for k in ("steady", "hum", "alarm", "cry", "suction", "clatter")]
        for row in weights:
            row[[pool[int(i)] for i in torch.randperm(len(pool))[:2]]] = torch.rand(2, device=clips.device) * .8 + .2
        made = noise.mixture(weights)
    made = made / made.std(1, keepdim=True)
    loud = clips.abs() > .01
    level = ((clips ** 2 * loud).sum(1, keepdim=True) / loud.sum(1, keepdim=True).clamp_min(1)).sqrt()
    mixed = clips + made * level * 10 ** (-snr / 20)
    return mixed / mixed.abs().amax(1, keepdim=True).clamp_min(1)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--pack", type=Path, help="folder of sets; pack them to --out and stop")
    parser.add_argument("--weights")
    parser.add_argument("--tokenizer")
    parser.add_argument("--sets", type=Path)
    parser.add_argument("--states", nargs="*", default=[])
    parser.add_argument("--batch", type=int, default=256)
    parser.add_argument("--seeds", type=int, default=2, help="draws of noise")
    parser.add_argument("--alone", action="store_true", help="leave the handed-over and the untouched state out")
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    if args.pack:
        return pack(args.pack, args.out)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    words, log_mel = Words(args.tokenizer), LogMel().to(device)
    encoder_state, base, tuned, table, positions = unpack(args.weights)
    states = {} if args.alone else {"tuned": (encoder_state, tuned), "base": (encoder_state, base)}
    for given in args.states:
        path, _, share = given.partition(":")
        share = float(share or 1)
        encoder_new, new = tuned_state(path)
        states[given] = (encoder_state | {k: share * v + (1 - share) * encoder_state[k] for k, v in encoder_new.items()},
                         {k: share * new[k] + (1 - share) * v for k, v in tuned.items()})
    sets, results = load(args.sets), {}
    voices = torch.cat([clips.flatten() for name, (clips, _) in sets.items() if name == "people-prompts"])
    noise = Noise((voices[voices.abs() > 0] * 32767).short().to(device), WINDOW)
    for name, (encoder_own, decoder_own) in states.items():
        encoder, decoder = Encoder(encoder_own).to(device).eval(), Decoder(decoder_own, table, positions).to(device).eval()
        for set_name, (clips, texts) in sets.items():
            for label, kind, snr in CONDITIONS:
                if set_name.startswith(("people", "talk")) and snr not in (None, PEOPLE_NOISE):
                    continue
                wrong = said = exact = count = 0
                for seed in range(args.seeds if kind else 1):
                    for k in range(0, len(clips), args.batch):
                        audio = clips[k:k + args.batch].to(device)
                        if kind:
                            audio = noisy(audio, kind, snr, noise, zlib.crc32(f"{set_name} {label} {seed} {k}".encode()))
                        with torch.no_grad():
                            heard = transcribe(decoder, encoder(log_mel(audio)), words, 40)
                        for (text, _), truth in zip(heard, texts[k:k + args.batch]):
                            errors = edits(truth.split(), words_of(text))
                            wrong, said, exact, count = wrong + errors, said + len(truth.split()), exact + (errors == 0), count + 1
                results.setdefault(set_name, {}).setdefault(label, {})[name] = {
                    "wer": round(100 * wrong / said, 2), "exact": round(100 * exact / count, 2), "n": count}
    args.out.parent.mkdir(parents=True, exist_ok=True)
    args.out.write_text(json.dumps(results))
    print("WER % / exact %; states: " + "  ".join(states))
    for set_name, conditions in results.items():
        for label, row in conditions.items():
            print(f"{set_name:18} {label:13}" + " ".join(f"{v['wer']:6.1f}/{v['exact']:5.1f}" for v in row.values()), flush=True)


if __name__ == "__main__":
    main()
