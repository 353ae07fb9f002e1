"""Runs the operators of one speech synthesiser's ONNX graph with PyTorch, so that an accelerator can speak.

Only the operators of that graph are here. Dynamically quantised layers run with float activations, which is what
the quantisation approximates. Shapes and other small whole numbers stay on the CPU, so that no step waits for the
accelerator without need.
"""
import numpy as np
import onnx
import torch
import torch.nn.functional as F
from onnx import helper, numpy_helper

TYPES = {1: torch.float32, 7: torch.int64, 9: torch.bool}


def ints(t):
    return [int(v) for v in t.tolist()] if t.dim() else int(t)


def together(a, b):
    """Moves a CPU operand to where the other lies; numbers without dimensions may stay."""
    if a.device != b.device:
        if a.device.type == "cpu" and a.dim():
            a = a.to(b.device)
        elif b.device.type == "cpu" and b.dim():
            b = b.to(a.device)
    return a, b


class Graph:
    def __init__(self, path, device):
        graph = onnx.load(path).graph
        self.device, self.nodes, self.out = torch.device(device), [], graph.output[0].name
        self.inputs = [i.name for i in graph.input]
        self.constants, self.prepared, self.lstms = {}, {}, {}
        for item in graph.initializer:
            value = torch.from_numpy(np.array(numpy_helper.to_array(item)))
            if value.dtype == torch.int32:
                value = value.long()
            small = not value.is_floating_point() and value.dtype == torch.int64 and value.numel() <= 16
            self.constants[item.name] = value if small or value.dim() == 0 else value.to(self.device)
        rounded = {n.input[0] for n in graph.node if n.op_type == "Cast" and self.attributes(n)["to"] == 6}
        rounded |= {n.output[0] for n in graph.node if n.op_type == "Floor" and n.output[0] in self._flow(graph, rounded)}
        last = {}
        for k, node in enumerate(graph.node):
            for name in node.input:
                last[name] = k
        for k, node in enumerate(graph.node):
            kind = "Identity" if node.op_type == "Floor" and node.output[0] in rounded else node.op_type
            frees = [n for n in set(node.input) if last.get(n) == k and n not in self.constants and n]
            self.nodes.append((getattr(self, kind), list(node.input), list(node.output), self.attributes(node), frees))

    @staticmethod
    def _flow(graph, targets):
        """Names from which only reshaping leads to `targets`: roundings of a bias to whole steps."""
        names, made = set(targets), {o: n for n in graph.node for o in n.output}
        for name in list(targets):
            node = made.get(name)
            while node is not None and node.op_type in ("Reshape", "Unsqueeze", "Cast", "Floor"):
                names.add(node.output[0])
                node = made.get(node.input[0])
        return names

    @staticmethod
    def attributes(node):
        return {a.name: helper.get_attribute_value(a) for a in node.attribute}

    @torch.no_grad()
    def __call__(self, **given):
        values = dict(given)
        for run, names, outs, attributes, frees in self.nodes:
            args = [None if not n else values[n] if n in values else self.constants[n] for n in names]
            self.names = names
            result = run(attributes, *args)
            if isinstance(result, tuple):
                values.update(zip(outs, result))
            else:
                values[outs[0]] = result
            for name in frees:
                values.pop(name, None)
        return values[self.out]

    # -------- arithmetic
    def Add(self, _, a, b):
        a, b = together(a, b)
        return a + b

    def Sub(self, _, a, b):
        a, b = together(a, b)
        return a - b

    def Mul(self, _, a, b):
        a, b = together(a, b)
        return a * b

    def Div(self, _, a, b):
        a, b = together(a, b)
        return a / b if a.is_floating_point() or b.is_floating_point() else torch.div(a, b, rounding_mode="trunc")

    def Pow(self, _, a, b):
        return a * a if b.numel() == 1 and b.device.type == "cpu" and float(b) == 2 else torch.pow(*together(a, b))

    def Equal(self, _, a, b):
        a, b = together(a, b)
        return a == b

    def Greater(self, _, a, b):
        a, b = together(a, b)
        return a > b

    def GreaterOrEqual(self, _, a, b):
        a, b = together(a, b)
        return a >= b

    def Less(self, _, a, b):
        a, b = together(a, b)
        return a < b

    def And(self, _, a, b):
        a, b = together(a, b)
        return a & b

    def Where(self, _, c, a, b):
        device = next((t.device for t in (c, a, b) if t.device.type != "cpu"), c.device)
        return torch.where(c.to(device).bool(), a.to(device), b.to(device))

    def Sqrt(self, _, a):
        return a.sqrt()

    def Sin(self, _, a):
        return a.sin()

    def Cos(self, _, a):
        return a.cos()

    def Exp(self, _, a):
        return a.exp()

    def Atan(self, _, a):
        return a.atan().nan_to_num()  # the angle of a silent bin, 0/0, is of no matter

    def Tanh(self, _, a):
        return a.tanh()

    def Sigmoid(self, _, a):
        return a.sigmoid()

    def Floor(self, _, a):
        return a.floor()

    def Round(self, _, a):
        return a.round()

    def Identity(self, _, a):
        return a

    def Clip(self, _, a, low=None, high=None):
        return a.clamp(None if low is None else float(low), None if high is None else float(high))

    def LeakyRelu(self, at, a):
        return F.leaky_relu(a, at.get("alpha", .01))

    def Softmax(self, at, a):
        return a.softmax(at.get("axis", -1))

    def FastGelu(self, _, a, bias=None):
        return F.gelu(a if bias is None else a + bias, approximate="tanh")

    def CumSum(self, _, a, axis):
        return a.cumsum(int(axis))

    def ReduceMean(self, at, a, axes):
        return a.mean(ints(axes), keepdim=bool(at.get("keepdims", 1)))

    def ReduceSum(self, at, a, axes):
        return a.sum(ints(axes), keepdim=bool(at.get("keepdims", 1)))

    # -------- layers
    def LayerNormalization(self, at, x, scale, bias=None):
        return F.layer_norm(x, scale.shape, scale, bias, at["epsilon"])

    def SkipLayerNormalization(self, at, x, skip, gamma, beta=None, bias=None):
        x = x + skip if bias is None else x + skip + bias
        return F.layer_norm(x, gamma.shape, gamma, beta, at["epsilon"])

    def MatMul(self, _, a, b):
        return a @ b

    def FusedMatMul(self, at, a, b):
        a = a.transpose(-1, -2) if at.get("transA") else a
        b = b.transpose(-1, -2) if at.get("transB") else b
        return (a @ b.to(a.dtype)) * at.get("alpha", 1.0)

    def DynamicQuantizeLinear(self, _, a):
        return a, torch.tensor(1.0), torch.tensor(0.0)

    def DequantizeLinear(self, _, a, scale, zero):
        return (a.float() - float(zero)) * float(scale)

    def _weight(self, b, zero):
        name = self.names[1]
        if name not in self.prepared:
            self.prepared[name] = (b.float() - zero.float().to(b.device)).to(self.device)
        return self.prepared[name]

    def MatMulInteger(self, _, a, b, a_zero, b_zero):
        return a @ self._weight(b, b_zero)

    def ConvInteger(self, at, a, b, a_zero, b_zero):
        return self._conv(at, a, self._weight(b, b_zero), None)

    def Conv(self, at, a, b, bias=None):
        return self._conv(at, a, b, bias)

    @staticmethod
    def _conv(at, a, b, bias):
        return F.conv1d(a, b, bias, at["strides"][0], at["pads"][0], at["dilations"][0], at.get("group", 1))

    def ConvTranspose(self, at, a, b, bias=None):
        return F.conv_transpose1d(a, b, bias, at["strides"][0], at["pads"][0], at.get("output_padding", [0])[0],
                                  at.get("group", 1), at["dilations"][0])

    def DynamicQuantizeLSTM(self, at, x, w, r, b, _lengths, h, c, _peep, w_scale, w_zero, r_scale, r_zero):
        key, size = self.names[1], at["hidden_size"]
        if key not in self.lstms:
            lstm = torch.nn.LSTM(w.shape[1], size, bidirectional=True).to(self.device)
            order = [0, 2, 3, 1]  # ONNX: input output forget cell; PyTorch: input forget cell output

            def gates(t):
                return torch.cat([t[k * size:(k + 1) * size] for k in order])
            with torch.no_grad():
                for k, suffix in enumerate(("", "_reverse")):
                    full = [(q[k].float() - z.reshape(-1)[k].float()) * s.reshape(-1)[k]
                            for q, s, z in ((w, w_scale, w_zero), (r, r_scale, r_zero))]
                    getattr(lstm, "weight_ih_l0" + suffix).copy_(gates(full[0].t()))
                    getattr(lstm, "weight_hh_l0" + suffix).copy_(gates(full[1].t()))
                    getattr(lstm, "bias_ih_l0" + suffix).copy_(gates(b[k][:4 * size]))
                    getattr(lstm, "bias_hh_l0" + suffix).copy_(gates(b[k][4 * size:]))
            lstm.flatten_parameters()
            self.lstms[key] = lstm
        out, (h, c) = self.lstms[key](x)  # both start states are zero in this graph
        return out.reshape(*out.shape[:2], 2, size).transpose(1, 2), h, c

    # -------- shapes
    def Cast(self, at, a):
        return a.to(TYPES[at["to"]]) if at["to"] in TYPES else a

    def Shape(self, at, a):
        return torch.tensor(list(a.shape)[at.get("start", 0):at.get("end")])

    def Gather(self, at, data, index):
        axis = at.get("axis", 0)
        if index.dim() == 0:
            return data.select(axis, int(index))
        flat = data.index_select(axis, index.to(data.device).reshape(-1) % data.shape[axis])
        return flat.reshape(*data.shape[:axis], *index.shape, *data.shape[axis + 1:] if axis >= 0 else ())

    def Unsqueeze(self, _, a, axes):
        for axis in sorted(ints(axes)):
            a = a.unsqueeze(axis)
        return a

    def Squeeze(self, _, a, axes=None):
        return a.squeeze(tuple(ints(axes))) if axes is not None else a.squeeze()

    def Reshape(self, _, a, shape):
        return a.reshape([a.shape[k] if n == 0 else n for k, n in enumerate(ints(shape))])

    def Expand(self, _, a, shape):
        return a.expand(torch.broadcast_shapes(a.shape, tuple(ints(shape))))

    def Transpose(self, at, a):
        return a.permute(at["perm"])

    def Concat(self, at, *parts):
        device = next((p.device for p in parts if p.device.type != "cpu"), parts[0].device)
        return torch.cat([p.to(device) for p in parts], at["axis"])

    def Split(self, at, a, sizes=None):
        axis = at.get("axis", 0)
        if sizes is None:
            return tuple(a.chunk(at["num_outputs"], axis))
        return tuple(a.split(ints(sizes), axis))

    def Slice(self, _, a, starts, ends, axes=None, steps=None):
        starts, ends = ints(starts), ints(ends)
        axes = ints(axes) if axes is not None else range(len(starts))
        steps = ints(steps) if steps is not None else [1] * len(starts)
        for start, end, axis, step in zip(starts, ends, axes, steps):
            size = a.shape[axis]
            start, end = (max(0, v + size if v < 0 else v) for v in (start, end))
            at = [slice(None)] * a.dim()
            at[axis] = slice(start, min(end, size), step)
            a = a[tuple(at)]
        return a

    def ConstantOfShape(self, at, shape):
        value = torch.from_numpy(np.array(numpy_helper.to_array(at["value"])))
        out = torch.full(ints(shape), value.item(), dtype=value.dtype)
        return out.to(self.device) if out.is_floating_point() else out

    def Range(self, _, start, end, step):
        return torch.arange(int(start), int(end), int(step))

    def Pad(self, at, a, pads, value=None, axes=None):
        pads = ints(pads)
        return F.pad(a, (pads[a.dim() - 1], pads[-1]), mode=at["mode"].decode())

    def Resize(self, at, a, _roi, scales):
        factor = [float(v) for v in scales.tolist()][-1]
        linear = at["mode"] == b"linear"
        if not linear:
            return F.interpolate(a, scale_factor=factor, mode="nearest")
        return F.interpolate(a, scale_factor=factor, mode="linear", align_corners=False, recompute_scale_factor=False)

    def STFT(self, _, signal, step, window, length):
        n = int(length)
        frames = signal.reshape(signal.shape[0], -1).unfold(-1, n, int(step)) * window.to(signal.device)
        return torch.view_as_real(torch.fft.rfft(frames))

    def NonZero(self, _, a):
        return a.nonzero().t()

    def ScatterND(self, _, data, index, updates):
        out = data.clone()
        out[tuple(index.to(out.device).unbind(-1))] = updates.to(out.device)
        return out
