#!/usr/bin/env python3
"""Writes the model files that the app runs, from Whisper tiny.en and any tuned decoder state. One command:

    python export.py --weights model.bin --tokenizer tokenizer.json --state STATE.pt --out ../callout-tiny

--weights    CTranslate2 weights of Whisper tiny.en (`model.bin`)
--tokenizer  its tokenizer.json
--state      what training wrote: {name: tensor}, only the weights that it changed (decoder, and encoder layers
             if it touched them). The token table and the positions must be untouched: both decoders share them.
--kept       rows of the token table to keep (choose_tokens.py); the default is the committed choice

Writes hearing.onnx, decoding.onnx, tokens.json and model.json, then run `npm run manifest`. Needs torch, onnx,
onnxruntime and tokenizers; about 30 s on a CPU. int8 weights (unsigned, per tensor), activations quantised on
the fly; ONNX opset 14, which the oldest supported runtime reads.
"""
import argparse
import json
import tempfile
from pathlib import Path

import onnx
import torch
from onnxruntime.quantization import QuantType, quantize_dynamic
from tokenizers import Tokenizer

from runtime_graphs import Decoding, Hearing, cache_names
from whisper import FRAMES_PER_SECOND, HEAD, MELS, Decoder, Encoder, base_state, fill, read_ct2, tuned_state

OPSET = 14
# More tokens than this are never written for one clip; the runtime's bound is tighter (src/asr/guards.json).
POSITIONS = 80


def build(weights_path, state_path, window):
    """-> (encoder, [tuned decoder, untouched decoder], table [V, D], positions [P, D])."""
    encoder_base, decoder_base, table, positions = base_state(read_ct2(weights_path))
    encoder_tuned, decoder_tuned = tuned_state(state_path)
    for shared, base in (('embedding', table), ('positions', positions)):
        own = decoder_tuned.pop(shared, None)
        if own is not None and abs(own - base).max() > 1e-2:
            raise ValueError(f'{state_path}: {shared} was trained, but both decoders share it.')
    unknown = (set(encoder_tuned) - set(encoder_base)) | (set(decoder_tuned) - set(decoder_base))
    if unknown:
        raise ValueError(f'{state_path}: unknown weights {sorted(unknown)[:3]}.')
    d = table.shape[1]
    layers = len({name.split('.')[1] for name in decoder_base if name.startswith('layers.')})
    encoder_state = encoder_base | encoder_tuned
    encoder_state['positions'] = encoder_state['positions'][:window * FRAMES_PER_SECOND]
    encoder = fill(Encoder(d, layers, window * FRAMES_PER_SECOND), encoder_state)
    decoders = [fill(Decoder(d, layers), decoder_base | decoder_tuned), fill(Decoder(d, layers), decoder_base)]
    return encoder, decoders, torch.tensor(table), torch.tensor(positions[:POSITIONS])


def export_hearing(encoder, decoders, window, path):
    cross, _ = cache_names(len(decoders), len(encoder.layers))
    mel = torch.randn(1, MELS, window * 2 * FRAMES_PER_SECOND)
    torch.onnx.export(Hearing(encoder, decoders), (mel,), path, input_names=['mel'], output_names=cross,
                      opset_version=OPSET, dynamo=False)


def export_decoding(decoders, table, positions, window, path):
    layers, n_heads = len(decoders[0].layers), table.shape[1] // HEAD
    cross, past = cache_names(len(decoders), layers)
    frames = window * FRAMES_PER_SECOND
    sample = [torch.randn(1, n_heads, HEAD, frames) if name.endswith('key') else torch.randn(1, n_heads, frames, HEAD)
              for name in cross]
    sample += [torch.randn(1, n_heads, 3, HEAD) for _ in past]
    present = [name.replace('past', 'present') for name in past]
    axes = {'ids': {1: 'tokens'}} | {name: {2: 'before'} for name in past} | {name: {2: 'so_far'} for name in present}
    torch.onnx.export(Decoding(decoders, table, positions), (torch.zeros(len(decoders), 2, dtype=torch.long), *sample),
                      path, input_names=['ids', *cross, *past], output_names=['logits', *present],
                      dynamic_axes=axes, opset_version=OPSET, dynamo=False)


def quantize(source, target):
    quantize_dynamic(source, target, weight_type=QuantType.QUInt8, op_types_to_quantize=['MatMul', 'Gather'])


def main():
    parser = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    parser.add_argument('--weights', required=True)
    parser.add_argument('--tokenizer', required=True)
    parser.add_argument('--state', required=True)
    parser.add_argument('--kept', type=Path, default=Path(__file__).with_name('kept-tokens.json'))
    parser.add_argument('--out', type=Path, required=True)
    parser.add_argument('--window', type=int, default=8, help='seconds of sound; as in training')
    args = parser.parse_args()

    tokenizer = Tokenizer.from_file(args.tokenizer)
    kept = json.loads(args.kept.read_text())
    encoder, decoders, table, positions = build(args.weights, args.state, args.window)
    table = table[torch.tensor(kept)]
    args.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, torch.no_grad():
        plain = Path(folder)
        export_hearing(encoder, decoders, args.window, plain / 'hearing.onnx')
        export_decoding(decoders, table, positions, args.window, plain / 'decoding.onnx')
        for name in ('hearing.onnx', 'decoding.onnx'):
            quantize(plain / name, args.out / name)
            onnx.checker.check_model(str(args.out / name))
    # The last three rows are special tokens: end, then the two that start every text.
    (args.out / 'tokens.json').write_text(json.dumps([tokenizer.id_to_token(id) for id in kept[:-3]], ensure_ascii=False))
    (args.out / 'model.json').write_text(json.dumps(dict(
        windowSeconds=args.window, sampleRate=16000, mels=MELS, fft=400, hop=160,
        end=len(kept) - 3, prompt=[len(kept) - 2, len(kept) - 1], tokens=len(kept),
        heads=table.shape[1] // HEAD, headSize=HEAD, positions=POSITIONS), indent=1) + '\n')
    for path in sorted(args.out.iterdir()):
        print(f'{path.stat().st_size:>10}  {path.name}')


if __name__ == '__main__':
    main()
