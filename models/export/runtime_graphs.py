"""The two graphs that the app runs.

hearing  : mel [1, 80, 2 S] -> the cross-attention keys and values of both decoders, computed once a clip.
decoding : one step of both decoders side by side. ids [2, T] (row 0 tuned, row 1 untouched), what hearing gave,
           the keys and values of the tokens before -> logits [2, T, V], keys and values so far.

The token table lies in the file once: for reading tokens in and for the logits, of both decoders. Each decoder
has its own product with it, so that on-the-fly quantisation scales the one apart from the other, as in two
separate files.
"""
import torch
from torch import nn

from whisper import Decoder, Encoder, heads


class Hearing(nn.Module):
    def __init__(self, encoder: Encoder, decoders: list[Decoder]):
        super().__init__()
        self.encoder, self.decoders = encoder, nn.ModuleList(decoders)

    def forward(self, mel):
        sound, out = self.encoder(mel), []
        for decoder in self.decoders:
            for layer in decoder.layers:
                out += [heads(layer.cross_k(sound)).transpose(-1, -2), heads(layer.cross_v(sound))]
        return tuple(out)


class Decoding(nn.Module):
    def __init__(self, decoders: list[Decoder], table, positions):
        super().__init__()
        self.decoders = nn.ModuleList(decoders)
        self.register_buffer('table', table.t().contiguous())  # [D, V]
        self.register_buffer('positions', positions)

    def forward(self, ids, *caches):
        """`caches`: for each decoder and layer: cross key, cross value; then for each: own key, own value."""
        half = len(caches) // 2
        cross, past = caches[:half], caches[half:]
        length, before = ids.shape[1], past[0].shape[2]
        mask = torch.where(
            torch.arange(before + length)[None] > (before + torch.arange(length))[:, None], -1e9, 0.0)
        logits, present, at = [], [], 0
        for row, decoder in enumerate(self.decoders):
            x = self.table.index_select(1, ids[row]).t()[None] + self.positions[before:before + length]
            for layer in decoder.layers:
                x, k, v = layer(x, past[at], past[at + 1], cross[at], cross[at + 1], mask)
                present += [k, v]
                at += 2
            logits.append(decoder.norm(x) @ self.table)
        return torch.cat(logits), *present


def cache_names(decoders, layers):
    """Names of the caches in the order of `forward`: [cross …], [past …]."""
    places = [(d, i) for d in range(decoders) for i in range(layers)]
    return tuple([f'{kind}.{d}.{i}.{part}' for d, i in places for part in ('key', 'value')]
                 for kind in ('cross', 'past'))
