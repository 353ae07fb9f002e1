#!/usr/bin/env python3
"""Speaks a plan as speak.py does, on an accelerator: many processes share it, each running the graph in PyTorch.

    python speak_fast.py --kokoro kokoro.int8.onnx --phonemes config.json --voices voices.npz --plan plan.jsonl \\
        --out speech --processes 14 --seconds 240

Needs one accelerator. Writes OUT/kK.raw and OUT/kK.jsonl. `--pack VOICES` only packs a voice folder to voices.npz.
"""
import argparse
import json
import math
import os
import time
from pathlib import Path

import numpy as np

from speak import Pool, load_voices, style_of, tidy


def work(k, args, begun):
    os.environ["CUDA_VISIBLE_DEVICES"] = str(k % args.accelerators)  # before PyTorch looks
    import torch
    from onnx_torch import Graph
    torch.set_num_threads(1)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    packed = np.load(args.voices)
    voices = {name: packed[name].astype(np.float32) for name in packed.files}
    signs = json.loads(Path(args.phonemes).read_text())["vocab"]
    lines = [json.loads(line) for line in Path(args.plan).read_text().splitlines()][k::args.processes]
    device = "cuda" if torch.cuda.is_available() else "cpu"
    graph, pool, failed = Graph(args.kokoro, device), Pool(f"{args.out}/k{k:02d}"), 0
    for line in lines:
        if time.time() - begun > args.seconds:
            break
        ids = [signs[sign] for sign in line["phonemes"]][:508]
        try:
            out = graph(tokens=torch.tensor([[0] + ids + [0]], device=device),
                        style=torch.tensor(style_of(line, voices, len(ids)), dtype=torch.float32, device=device),
                        speed=torch.tensor([line["speed"]], device=device))
            audio = tidy(out.reshape(-1).float().cpu().numpy())
        except RuntimeError as error:
            failed += 1
            if failed > 20:
                raise SystemExit(f"process {k}: {error}")
            continue
        if audio is not None and np.isfinite(audio).all():
            pool.add(audio, line)
    print(f"process {k}: {pool.count} utterances, {pool.position / 16000:.0f} s of audio, {failed} failed, "
          f"{time.time() - begun:.0f} s", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--pack", help="folder of NAME.bin: write them to --voices in float16 and stop")
    for name in ("kokoro", "phonemes", "voices", "plan", "out"):
        parser.add_argument(f"--{name}")
    parser.add_argument("--processes", type=int, default=14)
    parser.add_argument("--accelerators", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=math.inf)
    args = parser.parse_args()
    if args.pack:
        np.savez_compressed(args.voices, **{n: v.astype(np.float16) for n, v in load_voices(args.pack).items()})
        return
    import multiprocessing
    context, begun = multiprocessing.get_context("spawn"), time.time()
    workers = [context.Process(target=work, args=(k, args, begun)) for k in range(args.processes)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()


if __name__ == "__main__":
    main()
