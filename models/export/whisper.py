"""Whisper as PyTorch modules, filled from CTranslate2 weights and, over those, a tuned decoder's state.

One clip at a time, no dropout, no training: ../training/listener.py derives what it needs from these. Shapes: B batch, T tokens, S sound frames (50 a second),
D channels, H heads of 64. Architecture: Radford et al. 2022, "Robust Speech Recognition via Large-Scale Weak
Supervision", section 2.2.
"""
import struct

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

HEAD = 64
MELS = 80
FRAMES_PER_SECOND = 50


def read_ct2(path):
    """CTranslate2 `model.bin` -> {name: array}."""
    kinds = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}
    weights = {}
    with open(path, 'rb') as file:
        def take(code):
            return struct.unpack(code, file.read(struct.calcsize(code)))[0]

        def text():
            return file.read(take('<H')).rstrip(b'\0').decode()

        take('<I'), text(), take('<I')  # version of the format, kind of model, revision
        for _ in range(take('<I')):
            name = text()
            shape = [take('<I') for _ in range(take('<B'))]
            kind = kinds[take('<B')]
            weights[name] = np.frombuffer(file.read(take('<I')), kind).reshape(shape).astype(np.float32)
    return weights


def heads(x):
    """[B, T, D] -> [B, H, T, 64]."""
    return x.view(x.shape[0], x.shape[1], x.shape[2] // HEAD, HEAD).transpose(1, 2)


def attend(q, k_turned, v, mask=None):
    """q [1, H, T, 64], k_turned [1, H, 64, S], v [1, H, S, 64] -> [1, T, D]. `mask` is added to the scores."""
    scores = (q * HEAD**-0.5) @ k_turned
    if mask is not None:
        scores = scores + mask
    mixed = (torch.softmax(scores, -1) @ v).transpose(1, 2)
    return mixed.reshape(1, mixed.shape[1], mixed.shape[2] * mixed.shape[3])


class EncoderLayer(nn.Module):
    def __init__(self, d):
        super().__init__()
        self.norm1, self.qkv, self.out = nn.LayerNorm(d), nn.Linear(d, 3 * d), nn.Linear(d, d)
        self.norm2, self.ffn_in, self.ffn_out = nn.LayerNorm(d), nn.Linear(d, 4 * d), nn.Linear(4 * d, d)

    def forward(self, x):
        q, k, v = (heads(z) for z in self.qkv(self.norm1(x)).chunk(3, -1))
        x = x + self.out(attend(q, k.transpose(-1, -2), v))
        return x + self.ffn_out(F.gelu(self.ffn_in(self.norm2(x))))


class Encoder(nn.Module):
    """Log-mel [1, 80, 2 S] -> [1, S, D]."""

    Layer = EncoderLayer

    def __init__(self, d, layers, positions):
        super().__init__()
        self.conv1 = nn.Conv1d(MELS, d, 3, padding=1)
        self.conv2 = nn.Conv1d(d, d, 3, stride=2, padding=1)
        self.positions = nn.Parameter(torch.zeros(positions, d))
        self.layers = nn.ModuleList([self.Layer(d) for _ in range(layers)])
        self.norm = nn.LayerNorm(d)

    def forward(self, mel):
        x = F.gelu(self.conv2(F.gelu(self.conv1(mel)))).transpose(1, 2) + self.positions
        for layer in self.layers:
            x = layer(x)
        return self.norm(x)


class DecoderLayer(nn.Module):
    def __init__(self, d):
        super().__init__()
        self.norm1, self.qkv, self.out = nn.LayerNorm(d), nn.Linear(d, 3 * d), nn.Linear(d, d)
        self.norm2, self.cross_q, self.cross_k = nn.LayerNorm(d), nn.Linear(d, d), nn.Linear(d, d)
        self.cross_v, self.cross_out = nn.Linear(d, d), nn.Linear(d, d)
        self.norm3, self.ffn_in, self.ffn_out = nn.LayerNorm(d), nn.Linear(d, 4 * d), nn.Linear(4 * d, d)

    def forward(self, x, past_k, past_v, cross_k_turned, cross_v, mask):
        q, k, v = (heads(z) for z in self.qkv(self.norm1(x)).chunk(3, -1))
        k, v = torch.cat([past_k, k], 2), torch.cat([past_v, v], 2)
        x = x + self.out(attend(q, k.transpose(-1, -2), v, mask))
        x = x + self.cross_out(attend(heads(self.cross_q(self.norm2(x))), cross_k_turned, cross_v))
        return x + self.ffn_out(F.gelu(self.ffn_in(self.norm3(x)))), k, v


class Decoder(nn.Module):
    """The layers of one decoder. Its token table and positions are shared: see runtime_graphs.py."""

    Layer = DecoderLayer

    def __init__(self, d, layers):
        super().__init__()
        self.layers = nn.ModuleList([self.Layer(d) for _ in range(layers)])
        self.norm = nn.LayerNorm(d)


OWN = {'qkv': 'self_attention/linear_0', 'out': 'self_attention/linear_1',
       'ffn_in': 'ffn/linear_0', 'ffn_out': 'ffn/linear_1'}
NORMS = {'weight': 'gamma', 'bias': 'beta'}


def layer_state(weights, prefix, norms, linears):
    state = {}
    for ours, theirs in norms.items():
        state |= {f'{ours}.{part}': weights[f'{prefix}{theirs}/{NORMS[part]}'] for part in NORMS}
    for ours, theirs in linears.items():
        state |= {f'{ours}.{part}': weights[f'{prefix}{theirs}/{part}'] for part in NORMS}
    return state


def base_state(weights):
    """CTranslate2 arrays -> (encoder state, decoder state, token table [V, D], decoder positions [P, D])."""
    layers = sum(1 for name in weights if name.startswith('encoder/layer_') and name.endswith('ffn/linear_0/weight'))
    encoder = {'positions': weights['encoder/position_encodings/encodings']}
    encoder |= layer_state(weights, 'encoder/', {'norm': 'layer_norm'}, {'conv1': 'conv1', 'conv2': 'conv2'})
    decoder = layer_state(weights, 'decoder/', {'norm': 'layer_norm'}, {})
    for i in range(layers):
        part = layer_state(weights, f'encoder/layer_{i}/',
                           {'norm1': 'self_attention/layer_norm', 'norm2': 'ffn/layer_norm'}, OWN)
        encoder |= {f'layers.{i}.{name}': value for name, value in part.items()}
        part = layer_state(weights, f'decoder/layer_{i}/',
                           {'norm1': 'self_attention/layer_norm', 'norm2': 'attention/layer_norm',
                            'norm3': 'ffn/layer_norm'},
                           OWN | {'cross_q': 'attention/linear_0', 'cross_kv': 'attention/linear_1',
                                  'cross_out': 'attention/linear_2'})
        for kind in ('weight', 'bias'):  # keys and values lie in one matrix
            part[f'cross_k.{kind}'], part[f'cross_v.{kind}'] = np.split(part.pop(f'cross_kv.{kind}'), 2)
        decoder |= {f'layers.{i}.{name}': value for name, value in part.items()}
    return (encoder, decoder, weights['decoder/embeddings/weight'],
            weights['decoder/position_encodings/encodings'])


# States written by early training scripts use short names.
SHORT = {'e': 'encoder', 'd': 'decoder', 'ls': 'layers', 'ln': 'norm', 'ln1': 'norm1', 'ln2': 'norm2',
         'ln3': 'norm3', 'o': 'out', 'cq': 'cross_q', 'ck': 'cross_k', 'cv': 'cross_v', 'co': 'cross_out',
         'f1': 'ffn_in', 'f2': 'ffn_out', 'c1': 'conv1', 'c2': 'conv2'}


def tuned_state(path):
    """A state file of training -> ({name: array} of the encoder, of the decoder). Either may be empty."""
    state = torch.load(path, map_location='cpu', weights_only=True)
    full = {'.'.join(SHORT.get(part, part) for part in name.split('.')): value.float().numpy()
            for name, value in state.items()}
    parts = {'encoder': {}, 'decoder': {}}
    for name, value in full.items():
        module, _, rest = name.partition('.')
        if module not in parts:
            raise ValueError(f'{path}: the weight {name} belongs to neither encoder nor decoder.')
        parts[module][rest] = value
    return parts['encoder'], parts['decoder']


def fill(module, state):
    module.load_state_dict({name: torch.tensor(np.array(value)) for name, value in state.items()})
    return module.eval()
