"""What both ways of tuning share: arguments, the rate over time, the moving average, what is written."""
import json
import math
import time
from pathlib import Path

import torch
import torch.nn.functional as F


def add_arguments(parser, rate):
    """Adds the arguments that both take; `rate`: the default learning rate."""
    parser.add_argument("--weights", required=True, help="what pack.py wrote")
    parser.add_argument("--tokenizer", required=True)
    parser.add_argument("--data", nargs="+", required=True, help="folders of NAME.raw + NAME.jsonl")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--steps", type=int, default=10**6)
    parser.add_argument("--seconds", type=float, default=math.inf, help="stop after so long, with the rate decayed")
    parser.add_argument("--batch", type=int, default=160)
    parser.add_argument("--rate", type=float, default=rate)
    parser.add_argument("--snr", type=float, nargs=2, default=(-3, 30), help="range of the noise, dB")
    parser.add_argument("--decay", type=float, default=.999, help="of the moving average")
    parser.add_argument("--seed", type=int, default=0)


def prepare():
    """Lets matrix products be rounded, -> the device."""
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    return torch.device("cuda" if torch.cuda.is_available() else "cpu")


def divergence(logits, taught, counts):
    """Kullback-Leibler divergence from what is taught, nats a place, over the places that count. [B, T, V], bool [B, T]."""
    return F.kl_div(logits[counts].log_softmax(-1), taught[counts].log_softmax(-1), log_target=True,
                    reduction="sum") / counts.sum().clamp_min(1)


class Tuning:
    """Steps with warm-up and cosine decay, and the exponential moving average of what is tuned.

    groups: [({name: parameter}, highest learning rate)].
    """

    def __init__(self, args, groups, device):
        self.args = args
        self.chosen = {name: p for chosen, _ in groups for name, p in chosen.items()}
        self.tops = [rate for _, rate in groups]
        self.optimiser = torch.optim.AdamW([{"params": list(chosen.values()), "lr": rate} for chosen, rate in groups],
                                           weight_decay=.01, betas=(.9, .98), fused=device.type == "cuda")
        self.averaged = {name: p.detach().clone() for name, p in self.chosen.items()}
        self.log, self.step, self.begun = [], 0, time.time()

    def steps(self):
        """Yields the number of each step, its rate set, until --steps or --seconds are over."""
        self.begun = time.time()
        while self.step < self.args.steps:
            self.step += 1
            done = max(self.step / self.args.steps, (time.time() - self.begun) / self.args.seconds)
            if done > 1:
                return
            factor = min(1, self.step / 150) * (.97 * .5 * (1 + math.cos(math.pi * done)) + .03)
            for group, top in zip(self.optimiser.param_groups, self.tops):
                group["lr"] = top * factor
            yield self.step

    def take(self, loss, **also):
        """One step down the loss; `also`: parts of it to note."""
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.chosen.values(), 1.0)
        self.optimiser.step()
        decay = min(self.args.decay, self.step / (self.step + 20))
        with torch.no_grad():
            torch._foreach_lerp_(list(self.averaged.values()), [p.detach() for p in self.chosen.values()], 1 - decay)
        if self.step % 100 == 0:
            parts = {name: torch.as_tensor(value).item() for name, value in {"loss": loss, **also}.items()}
            self.log.append([self.step, round(time.time() - self.begun, 1), *(round(x, 4) for x in parts.values())])
            if self.step % 500 == 0:
                told = "  ".join(f"{name} {value:.3f}" for name, value in parts.items())
                print(f"step {self.step}  {time.time() - self.begun:.0f} s  {told}", flush=True)

    def save(self, pool):
        """Writes OUT/state.pt (the average, fp16) and OUT/log.json."""
        out = self.args.out
        out.mkdir(parents=True, exist_ok=True)
        torch.save({name: value.half().cpu() for name, value in self.averaged.items()}, out / "state.pt")
        (out / "log.json").write_text(json.dumps({"arguments": vars(self.args) | {"out": str(out)}, "steps": self.step,
                                                  "utterances": len(pool), "hours": pool.hours(), "log": self.log}))
        print(f"{self.step} steps in {time.time() - self.begun:.0f} s", flush=True)
