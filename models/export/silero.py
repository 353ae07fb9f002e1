#!/usr/bin/env python3
"""Takes the 16 kHz half out of Silero VAD v6 (the file holds an 8 kHz half, too): half the download, same numbers.

    python silero.py silero_vad_v6.onnx ../silero-vad/silero_vad_v6_16k.onnx

The sample rate becomes a constant and ONNX Runtime's basic pass removes the branch that is never taken. The result
is compared with the source on 200 frames of noise and must agree within 1e-5. Needs onnx, onnxruntime, numpy.
"""
import argparse
import tempfile
from pathlib import Path

import numpy as np
import onnx
import onnxruntime
from onnx import numpy_helper

RATE = 16000
INPUT = 576  # 64 samples of the frame before, then 512 new ones


def fix_rate(model):
    graph = model.graph
    rate = next(value for value in graph.input if value.name == 'sr')
    graph.input.remove(rate)
    graph.initializer.append(numpy_helper.from_array(np.array(RATE, np.int64), 'sr'))
    return model


def plain_imports(path):
    """The pass names operator sets that the graph does not use; an older runtime would refuse them."""
    model = onnx.load(path)
    used = [entry for entry in model.opset_import if entry.domain == '']
    del model.opset_import[:]
    model.opset_import.extend(used)
    onnx.save(model, path)


def probabilities(session, frames):
    state, out = np.zeros((2, 1, 128), np.float32), []
    for frame in frames:
        feeds = {'input': frame[None], 'state': state}
        if 'sr' in [value.name for value in session.get_inputs()]:
            feeds['sr'] = np.array(RATE, np.int64)
        probability, state = session.run(None, feeds)
        out.append(probability[0, 0])
    return np.array(out)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    parser.add_argument('source')
    parser.add_argument('target')
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        fixed = str(Path(folder) / 'fixed.onnx')
        onnx.save(fix_rate(onnx.load(args.source)), fixed)
        options = onnxruntime.SessionOptions()
        options.graph_optimization_level = onnxruntime.GraphOptimizationLevel.ORT_ENABLE_BASIC
        options.optimized_model_filepath = args.target
        options.log_severity_level = 3
        onnxruntime.InferenceSession(fixed, options)
    plain_imports(args.target)
    frames = np.random.default_rng(1).normal(0, 0.1, (200, INPUT)).astype(np.float32)
    before, after = (probabilities(onnxruntime.InferenceSession(path), frames) for path in (args.source, args.target))
    difference = float(abs(before - after).max())
    if difference > 1e-5:
        raise SystemExit(f'The result differs by {difference}.')
    print(f'{Path(args.target).stat().st_size} bytes, largest difference {difference:.1e}')


if __name__ == '__main__':
    main()
