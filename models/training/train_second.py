#!/usr/bin/env python3
"""Tunes the second decoder to hear in noise what it hears without: its own words, no text of ours.

    python train_second.py --weights weights.npz --tokenizer tokenizer.json --data speech --out run --seconds 400

Needs an accelerator (one H100: the run's --seconds and a minute to start). The encoder stays as packed. Whisper's own
decoder first writes down what it hears in every utterance without noise; the tuned copy is then held, in noise, to the
same odds for the same words. By default utterances that are call-outs, look-alikes or trade words take no part (--kinds):
the second reading must not learn the trade's habits, or it would no longer contradict the first.

Writes OUT/state.pt, the exponential moving average in fp16, {"decoder.NAME": tensor}, and OUT/log.json.
"""
import argparse
import time

import torch

from augment import RATE, SpeechPool
from listener import Decoder, Encoder, LogMel, Words, transcribe
from pack import unpack
from tuning import Tuning, add_arguments, divergence, prepare

EVERYDAY = ("general", "talk", "mixed", "number")
LONGEST_TEXT = 36  # tokens; what is longer on short speech is a loop, and two of them must fit the kept positions
POSITIONS = 80  # as packed


@torch.no_grad()
def own_words(pool, decoder, encoder, log_mel, words, device, batch=512):
    """What the decoder hears in each utterance of the pool, by itself and without noise: list of texts."""
    order, found = torch.argsort(pool.length), [""] * len(pool)
    for k in range(0, len(order), batch):
        items = order[k:k + batch]
        ones = torch.ones(len(items))
        x = pool.place(items, torch.full((len(items),), RATE // 4), pool.length[items], ones, ones.bool())
        x = x / x.abs().amax(1, keepdim=True).clamp_min(1e-4) * .5
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            heard = transcribe(decoder, encoder(log_mel(x)), words, LONGEST_TEXT + 1)
        for item, (text, _) in zip(items.tolist(), heard):
            found[item] = text
    return found


def led_along(texts, words):
    """Texts -> decoder input [B, T] and whether a place counts [B, T]: the words and the end, not the prompt."""
    rows = [(words.prompt + (words.rows(text) or []))[:POSITIONS] + [words.end] for text in texts]
    width = max(map(len, rows)) - 1
    given, counts = torch.full((len(rows), width), words.end), torch.zeros(len(rows), width, dtype=torch.bool)
    for b, row in enumerate(rows):
        given[b, :len(row) - 1] = torch.tensor(row[:-1])
        counts[b, len(words.prompt) - 1:len(row) - 1] = True
    return given, counts


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    add_arguments(parser, rate=1e-4)
    parser.add_argument("--kinds", nargs="+", default=EVERYDAY, help="of utterances that take part; all: every kind")
    args = parser.parse_args()

    device = prepare()
    words = Words(args.tokenizer)
    encoder_state, base, _, table, positions = unpack(args.weights)
    encoder, log_mel = Encoder(encoder_state).to(device).eval().requires_grad_(False), LogMel().to(device)
    teacher = Decoder(base, table, positions).to(device).eval().requires_grad_(False)
    decoder = Decoder(base, table, positions).to(device)
    kinds = None if "all" in args.kinds else set(args.kinds)
    pool = SpeechPool(args.data, lambda text: words.rows(text) is not None, device, seed=args.seed, snr=args.snr,
                      kinds=kinds)
    begun = time.time()
    pool.texts = own_words(pool, teacher, encoder, log_mel, words, device)
    usable = sum(words.rows(text) is not None for text in pool.texts)
    print(f"{len(pool)} utterances, {pool.hours():.2f} h, {usable} with words that can be led along, "
          f"{time.time() - begun:.0f} s", flush=True)

    tuning = Tuning(args, [({"decoder." + name: p for name, p in decoder.named_parameters()}, args.rate)], device)
    decoder.train()
    for _step in tuning.steps():
        audio, texts, clean, _ = pool.batch(args.batch)
        given, counts = (t.to(device) for t in led_along(texts, words))
        # Nothing was said, or it cannot be written with the kept tokens: there is nothing to be led along.
        counts &= torch.tensor([bool(text) and words.rows(text) is not None for text in texts], device=device)[:, None]
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            with torch.no_grad():
                taught = teacher(given, encoder(log_mel(clean))).float()
                sound = encoder(log_mel(audio))
            logits = decoder(given, sound, dropout=.1).float()
        tuning.take(divergence(logits, taught, counts))
    tuning.save(pool)


if __name__ == "__main__":
    main()
