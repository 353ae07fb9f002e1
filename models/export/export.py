#!/usr/bin/env python3
"""Writes the model files that the app runs, from Whisper tiny.en and any tuned decoder state. One command:

    python export.py --weights model.bin --tokenizer tokenizer.json --state STATE.pt --out ../callout-tiny

--weights    CTranslate2 weights of Whisper tiny.en (`model.bin`)
--tokenizer  its tokenizer.json
--state      what training wrote: {name: tensor}, only the weights that it changed (decoder, and encoder layers
             if it touched them). The token table and the positions must be untouched: both decoders share them.
--kept       rows of the token table to keep (choose_tokens.py); the default is the committed choice

Writes hearing.onnx, decoding.onnx, tokenizer.json, preprocessor_config.json and model.json, then run
`npm run manifest`. Needs torch, onnx
and onnxruntime; about 30 s on a CPU. int8 weights (unsigned, per tensor), activations quantised on
the fly; ONNX opset 14, which the oldest supported runtime reads.
"""
import argparse
import json
import tempfile
from pathlib import Path

import onnx
import torch
from onnxruntime.quantization import QuantType, quantize_dynamic

from runtime_graphs import Decoding, Hearing, cache_names
from whisper import FRAMES_PER_SECOND, HEAD, MELS, Decoder, Encoder, base_state, fill, read_ct2, tuned_state

OPSET = 14
# More tokens than this are never written for one clip; the runtime's bound is tighter (src/asr/guards.json).
POSITIONS = 80
RATE, HOP = 16000, 160


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
    axes = {'ids': {1: 'tokens'}, 'logits': {1: 'tokens'}} | {name: {2: 'before'} for name in past} | {name: {2: 'so_far'} for name in present}
    torch.onnx.export(Decoding(decoders, table, positions), (torch.zeros(len(decoders), 2, dtype=torch.long), *sample),
                      path, input_names=['ids', *cross, *past], output_names=['logits', *present],
                      dynamic_axes=axes, opset_version=OPSET, dynamo=False)


def quantize(source, target):
    quantize_dynamic(source, target, weight_type=QuantType.QUInt8, op_types_to_quantize=['MatMul', 'Gather'])


def pruned_tokenizer(path, kept):
    """The tokenizer with the kept tokens alone, numbered as the kept rows; the last three are special."""
    whole = json.loads(Path(path).read_text())
    added = {token['id']: token for token in whole['added_tokens']}
    words = {id: token for token, id in whole['model']['vocab'].items()}
    vocab = {words[id]: row for row, id in enumerate(kept[:-3])}
    pairs = [merge.split(' ') if isinstance(merge, str) else merge for merge in whole['model']['merges']]
    merges = [f'{a} {b}' for a, b in pairs if a in vocab and b in vocab and a + b in vocab]
    special = [dict(added[id], id=len(vocab) + k, special=True) for k, id in enumerate(kept[-3:])]
    byte_level = dict(type='ByteLevel', add_prefix_space=False, trim_offsets=True)
    return dict(version='1.0', added_tokens=special, normalizer=None, pre_tokenizer=byte_level, post_processor=None,
                decoder=byte_level, model=dict(type='BPE', vocab=vocab, merges=merges))


def write_json(path, value, indent=1):
    path.write_text(json.dumps(value, ensure_ascii=False, indent=indent) + '\n')


def main():
    parser = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    parser.add_argument('--weights', required=True)
    parser.add_argument('--tokenizer', required=True)
    parser.add_argument('--state', required=True)
    parser.add_argument('--kept', type=Path, default=Path(__file__).with_name('kept-tokens.json'))
    parser.add_argument('--out', type=Path, required=True)
    parser.add_argument('--window', type=int, default=8, help='seconds of sound; as in training')
    args = parser.parse_args()

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
    write_json(args.out / 'tokenizer.json', pruned_tokenizer(args.tokenizer, kept), indent=None)
    write_json(args.out / 'preprocessor_config.json', dict(
        feature_extractor_type='WhisperFeatureExtractor', feature_size=MELS, sampling_rate=RATE, n_fft=400,
        hop_length=HOP, chunk_length=args.window, n_samples=args.window * RATE,
        nb_max_frames=args.window * RATE // HOP, padding_side='right', padding_value=0.0))
    write_json(args.out / 'model.json', dict(
        end=len(kept) - 3, prompt=[len(kept) - 2, len(kept) - 1], tokens=len(kept),
        heads=table.shape[1] // HEAD, headSize=HEAD, positions=POSITIONS))
    for path in sorted(args.out.iterdir()):
        print(f'{path.stat().st_size:>10}  {path.name}')


if __name__ == '__main__':
    main()
