#!/usr/bin/env python3
"""Tunes Whisper's decoder on spoken call-outs in noise; the encoder stays frozen unless asked.

    python train.py --weights weights.npz --tokenizer tokenizer.json --data speech --out run --seconds 400

Needs an accelerator (one H100: the run's --seconds and half a minute to start). Writes OUT/state.pt: the exponential
moving average of what was trained, fp16, {"decoder.NAME": tensor}, and OUT/log.json.

Where an utterance is no call-out, the decoder is also held to what a frozen teacher hears in the same speech without
noise (--keep): ordinary speech must stay ordinary speech. Where encoder layers move, they are held to the features of
the same speech without noise (--clean), and the untouched decoder to what it makes of those (--second). Speech without
its words (people_speech.py) takes part in --clean alone.
"""
import argparse
import copy
import math

import torch
import torch.nn.functional as F

from augment import WORDLESS, SpeechPool
from listener import Decoder, Encoder, LogMel, Words
from pack import unpack
from tuning import Tuning, add_arguments, divergence, prepare

SKIPPED = -100  # target that the loss leaves out
ORDINARY = {"general", "talk", "near", "trade", "mixed"}


def token_batch(texts, kinds, words):
    """Texts -> decoder input [B, T] and targets [B, T] (SKIPPED over the prompt, the padding and unknown words)."""
    rows = [words.prompt + words.rows(text) + [words.end] for text in texts]
    width = max(map(len, rows)) - 1
    given, wanted = torch.full((len(rows), width), words.end), torch.full((len(rows), width), SKIPPED)
    for b, row in enumerate(rows):
        given[b, :len(row) - 1] = torch.tensor(row[:-1])
        if kinds[b] != WORDLESS:
            wanted[b, 1:len(row) - 1] = torch.tensor(row[2:])
    return given, wanted


def altered(mel):
    """Other throats and lost bands: [B, 80, F] with the mel axis stretched for half, bands and moments blanked."""
    size, bands, frames = mel.shape
    device, floor = mel.device, mel.amin((1, 2), keepdim=True)

    def u(low, high):
        return torch.rand(size, 1, 1, device=device) * (high - low) + low
    stretch = torch.where(u(0, 1) < .5, u(.86, 1.16), 1.0)
    at = torch.arange(bands, device=device)[None, :, None] * stretch
    below = at.floor().clamp(max=bands - 1).long().expand(-1, -1, frames)
    above = (below + 1).clamp(max=bands - 1)
    warped = torch.lerp(mel.gather(1, below), mel.gather(1, above), at - at.floor())
    out = torch.where(at < bands, warped, floor)
    for axis, longest, odds in ((1, 9, .4), (1, 9, .2), (2, 9, .3)):
        place = torch.arange(out.shape[axis], device=device).view((1, -1, 1) if axis == 1 else (1, 1, -1))
        first = u(0, out.shape[axis]).floor()
        blank = (place >= first) & (place < first + u(1, longest)) & (u(0, 1) < odds)
        out = torch.where(blank, floor, out)
    return out


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    add_arguments(parser, rate=8e-5)
    parser.add_argument("--start", choices=("tuned", "base"), default="tuned")
    parser.add_argument("--teacher", choices=("tuned", "base"), default="tuned")
    parser.add_argument("--keep", type=float, default=.5, help="weight of the teacher on ordinary speech")
    parser.add_argument("--encoder-layers", type=int, default=0, help="upper encoder layers to adapt")
    parser.add_argument("--encoder-rate", type=float, default=1e-5)
    parser.add_argument("--clean", type=float, default=1., help="weight of the clean features, where the encoder moves")
    parser.add_argument("--second", type=float, default=0., help="weight of what the untouched decoder makes of clean sound")
    parser.add_argument("--alter", type=int, default=1, help="0 leaves throats and bands as they are")
    parser.add_argument("--speeds", type=float, nargs=2, default=(.88, 1.15), help="range of the changed speed")
    args = parser.parse_args()

    device = prepare()
    words = Words(args.tokenizer)
    encoder_state, base, tuned, table, positions = unpack(args.weights)
    states = {"base": base, "tuned": tuned}
    encoder, log_mel = Encoder(encoder_state).to(device).requires_grad_(False), LogMel().to(device)
    frozen = copy.deepcopy(encoder)
    decoder = Decoder(states[args.start], table, positions).to(device)
    teacher = Decoder(states[args.teacher], table, positions).to(device).eval().requires_grad_(False)
    untouched = Decoder(base, table, positions).to(device).eval().requires_grad_(False)
    chosen = {"decoder." + name: p for name, p in decoder.named_parameters()}
    moved = {}
    for layer in range(len(encoder.layers) - args.encoder_layers, len(encoder.layers)):
        moved |= {f"encoder.layers.{layer}.{name}": p for name, p in encoder.layers[layer].named_parameters()}
    for p in moved.values():
        p.requires_grad_(True)
    tuning = Tuning(args, [(chosen, args.rate), *([(moved, args.encoder_rate)] if moved else [])], device)
    pool = SpeechPool(args.data, lambda text: words.rows(text) is not None, device, seed=args.seed,
                      speeds=args.speeds, snr=args.snr)
    print(f"{len(pool)} utterances, {pool.hours():.2f} h", flush=True)

    decoder.train()
    for step in tuning.steps():
        audio, texts, clean, kinds = pool.batch(args.batch)
        if step == 200 and not math.isfinite(loss.item()):
            raise SystemExit('the loss is no number: look at the batches')
        given, wanted = (t.to(device) for t in token_batch(texts, kinds, words))
        ordinary = torch.tensor([k in ORDINARY for k in kinds], device=device)
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            with torch.no_grad():
                mel, clean_mel = log_mel(audio), log_mel(clean)
                mel = altered(mel) if args.alter else mel
                quiet = frozen(clean_mel)
                taught = teacher(given[ordinary], quiet[ordinary]).float() if args.keep and ordinary.any() else None
            with torch.set_grad_enabled(bool(moved)):
                sound = encoder(mel)
            logits = decoder(given, sound, dropout=.1).float()
            if args.second:
                with torch.no_grad():
                    second_clean = untouched(given, quiet).float()
                second = untouched(given, sound).float()
        loss = F.cross_entropy(logits.flatten(0, 1), wanted.flatten(), ignore_index=SKIPPED, label_smoothing=.04)
        if taught is not None:
            counted = wanted[ordinary] != SKIPPED
            kept = divergence(logits[ordinary], taught, counted)
            loss = loss + args.keep * kept
        if moved:
            loss = loss + args.clean * ((sound.float() - quiet.float()) ** 2).mean() / quiet.float().var()
        if args.second:
            loss = loss + args.second * divergence(second, second_clean, wanted != SKIPPED)
        tuning.take(loss, teacher=kept if taught is not None else 0)
    tuning.save(pool)


if __name__ == "__main__":
    main()
