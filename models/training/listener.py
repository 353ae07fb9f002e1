"""Whisper for training and for measuring many clips at once: batches, dropout, one decoder over a token table.

The modules and the names of their weights are those of ../export/whisper.py, so that a state goes from here to the
export as it is; here they run on batches.
Shapes: B batch, T tokens, S sound frames (50 a second), D channels, V tokens kept.
"""
import json
import sys
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "export"))
import whisper  # noqa: E402
from whisper import MELS, OWN, base_state, fill, heads, layer_state, read_ct2, tuned_state  # noqa: E402,F401

RATE, HOP, FFT = 16000, 160, 400
WINDOW = 8 * RATE  # samples that the model hears


def mel_filters():
    """[80, 201] triangles on the Slaney mel scale, area-normalised, 0 to 8000 Hz, as Whisper's front end has them."""
    def to_hz(mel):
        return np.where(mel < 15, 200 * mel / 3, 1000 * np.exp(np.log(6.4) / 27 * (mel - 15)))
    top = 15 + np.log(RATE / 2 / 1000) * 27 / np.log(6.4)
    edges, bins = to_hz(np.linspace(0, top, MELS + 2)), np.linspace(0, RATE / 2, FFT // 2 + 1)
    slopes, width = edges[:, None] - bins[None], np.diff(edges)[:, None]
    return np.maximum(0, np.minimum(-slopes[:-2] / width[:-1], slopes[2:] / width[1:])) * (
        2 / (edges[2:] - edges[:-2]))[:, None]


class LogMel(nn.Module):
    """Audio [B, samples] at 16 kHz, -1..1 -> [B, 80, samples / 160], in float32."""

    def __init__(self):
        super().__init__()
        self.register_buffer("filters", torch.tensor(mel_filters(), dtype=torch.float32), persistent=False)
        self.register_buffer("window", torch.hann_window(FFT), persistent=False)

    def forward(self, audio):
        spectrum = torch.stft(audio, FFT, HOP, window=self.window, return_complex=True)[..., :-1]
        mel = torch.log10((self.filters @ spectrum.abs() ** 2).clamp_min(1e-10))
        return (torch.maximum(mel, mel.amax((1, 2), keepdim=True) - 8) + 4) / 4


def attend(q, k, v, causal=False):
    return F.scaled_dot_product_attention(q, k, v, is_causal=causal).transpose(1, 2).flatten(2)


def layers_of(state):
    return 1 + max(int(name.split(".")[1]) for name in state if name.startswith("layers."))


class EncoderLayer(whisper.EncoderLayer):
    def forward(self, x):
        x = x + self.out(attend(*(heads(z) for z in self.qkv(self.norm1(x)).chunk(3, -1))))
        return x + self.ffn_out(F.gelu(self.ffn_in(self.norm2(x))))


class Encoder(whisper.Encoder):
    """Log-mel [B, 80, 2 S] -> [B, S, D]."""

    Layer = EncoderLayer

    def __init__(self, state):
        super().__init__(state["norm.weight"].shape[0], layers_of(state), len(state["positions"]))
        fill(self, state).train()

    def forward(self, mel):
        x = F.gelu(self.conv2(F.gelu(self.conv1(mel)))).transpose(1, 2)
        x = x + self.positions[:x.shape[1]]
        for layer in self.layers:
            x = layer(x)
        return self.norm(x)


class DecoderLayer(whisper.DecoderLayer):
    def cross(self, sound):
        return heads(self.cross_k(sound)), heads(self.cross_v(sound))

    def forward(self, x, sound, dropout):
        """`sound`: the encoder's output, or what `cross` made of it."""
        def drop(y):
            return F.dropout(y, dropout, self.training)
        q, k, v = (heads(z) for z in self.qkv(self.norm1(x)).chunk(3, -1))
        x = x + drop(self.out(attend(q, k, v, causal=True)))
        k, v = sound if isinstance(sound, tuple) else self.cross(sound)
        x = x + drop(self.cross_out(attend(heads(self.cross_q(self.norm2(x))), k, v)))
        return x + drop(self.ffn_out(drop(F.gelu(self.ffn_in(self.norm3(x))))))


class Decoder(whisper.Decoder):
    """Teacher forcing: ids [B, T] (rows of the kept table), sound [B, S, D] -> logits [B, T, V]."""

    Layer = DecoderLayer

    def __init__(self, state, table, positions):
        super().__init__(table.shape[1], layers_of(state))
        fill(self, state).train()
        self.register_buffer("table", torch.tensor(table), persistent=False)
        self.register_buffer("positions", torch.tensor(positions), persistent=False)

    def forward(self, ids, sound, dropout=0.0):
        x = F.embedding(ids, self.table) + self.positions[:ids.shape[1]]
        for layer in self.layers:
            x = layer(x, sound, dropout)
        return self.norm(x) @ self.table.t()

    def following(self, ids, crossed):
        """Logits [B, V] of the token that follows ids. crossed: `cross` of each layer, made once a clip."""
        x = F.embedding(ids, self.table) + self.positions[:ids.shape[1]]
        for layer, sound in zip(self.layers, crossed):
            x = layer(x, sound, 0)
        return self.norm(x[:, -1]) @ self.table.t()


class Words:
    """Texts <-> rows of the kept token table (../export/kept-tokens.json)."""

    def __init__(self, tokenizer, kept=HERE.parent / "export" / "kept-tokens.json"):
        from tokenizers import Tokenizer
        self.tokenizer, self.ids = Tokenizer.from_file(str(tokenizer)), json.loads(Path(kept).read_text())
        self.row = {token: k for k, token in enumerate(self.ids)}
        at = self.tokenizer.token_to_id
        self.prompt = [self.row[at("<|startoftranscript|>")], self.row[at("<|notimestamps|>")]]
        self.end = self.row[at("<|endoftext|>")]

    def rows(self, text):
        """Rows of the tokens, or None where one was not kept."""
        found = [self.row.get(t) for t in self.tokenizer.encode(" " + text, add_special_tokens=False).ids] if text else []
        return None if None in found else found

    def text(self, rows):
        return self.tokenizer.decode([self.ids[r] for r in rows if r < self.end]).strip()


@torch.no_grad()
def transcribe(decoder, sound, words, longest=60):
    """Greedy, a batch at once. sound [B, S, D] -> [(text, mean natural log-probability per token, end included)].

    At most `longest` tokens; the app's tighter bounds (loops, speech duration) are not applied here.
    """
    size, device = len(sound), sound.device
    ids = torch.tensor([words.prompt] * size, device=device)
    alive, total, count = torch.ones(size, dtype=torch.bool, device=device), torch.zeros(size, device=device), 0
    totals, crossed = torch.zeros(size, device=device), [layer.cross(sound) for layer in decoder.layers]
    while alive.any() and count < longest:
        row = decoder.following(ids, crossed).float()
        row[:, words.end + 1:] = -torch.inf
        best = row.log_softmax(-1).max(-1)
        total += torch.where(alive, best.values, 0)
        totals += alive
        following = torch.where(alive, best.indices, words.end)
        ids, count = torch.cat([ids, following[:, None]], 1), count + 1
        alive &= following != words.end
    out = []
    for b in range(size):
        rows = ids[b, 2:].tolist()
        out.append((words.text(rows[:rows.index(words.end)] if words.end in rows else rows),
                    float(total[b] / totals[b].clamp_min(1))))
    return out
