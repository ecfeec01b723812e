# mypy: disable-error-code="misc, untyped-decorator, no-any-return"
"""The room network: one small convolutional net tells where the surfaces are and what room it is.

The trunk is EfficientNet-Lite [1]_ up to its pooled features; a light feature pyramid [2]_ reads
the surfaces at a quarter of the input's size, and small linear heads read the rest from features
pooled over the whole picture and over the wall, ceiling, floor and cabinets found. Heads about
paint and light also see how bright each surface is against the others and the bright end of the
picture, since that is what sets a dark wall apart from a dim photo.

References
----------
.. [1] M. Tan and Q. V. Le, "EfficientNet: Rethinking Model Scaling for Convolutional Neural
   Networks", ICML 2019; the Lite variants drop squeeze-and-excitation and use ReLU6.
.. [2] T.-Y. Lin et al., "Feature Pyramid Networks for Object Detection", CVPR 2017.
"""

from __future__ import annotations

import math
from pathlib import Path

import torch
from torch import Tensor, nn
from torch.nn import functional

from scorer.photos.surfaces import HEADS
from scorer.training.labels import SURFACE_LETTERS, letter_to_code_matrix

# kernel, stride, expansion, channels, repeats of each stage of the baseline net.
_STAGES = (
    (3, 1, 1, 16, 1),
    (3, 2, 6, 24, 2),
    (5, 2, 6, 40, 2),
    (3, 2, 6, 80, 3),
    (5, 1, 6, 112, 3),
    (5, 2, 6, 192, 4),
    (3, 1, 6, 320, 1),
)
# width and depth multipliers of the Lite variants
VARIANTS = {"lite0": (1.0, 1.0), "lite1": (1.0, 1.1), "lite2": (1.1, 1.2)}
_TONAL = ("lightness", "bold", "exposure", "light")
_TONES = 3 * 11  # logs of red, green and blue: 9 surfaces, the whole and its bright end
_TONAL_WIDTH = 32
_LEAST_CELLS = 4.0  # a surface seen in fewer leans on the whole picture
_POOLED_SURFACES = (1, 2, 3, 6)  # wall, ceiling, floor, cabinet or counter


def _round_channels(channels: int, width: float) -> int:
    """Channels scaled by `width` to a multiple of 8, never more than 10 % down (as in [1]_)."""
    scaled = channels * width
    rounded = max(8, int(scaled + 4) // 8 * 8)
    return rounded + 8 if rounded < 0.9 * scaled else rounded


class _SameConv(nn.Conv2d):
    """Convolution padded as the pretrained weights expect: the odd pixel goes right and below."""

    def forward(self, x: Tensor) -> Tensor:
        kernel, stride = self.kernel_size[0], self.stride[0]
        if stride == 1:
            return functional.conv2d(x, self.weight, self.bias, 1, kernel // 2, 1, self.groups)
        total = kernel - stride
        before = total // 2
        after = total - before
        return functional.conv2d(
            functional.pad(x, (before, after, before, after)),
            self.weight, self.bias, stride, 0, 1, self.groups,
        )  # fmt: skip


def _norm(channels: int) -> nn.BatchNorm2d:
    return nn.BatchNorm2d(channels, eps=1e-3)


class _Block(nn.Module):
    """Inverted residual block; attribute names follow the pretrained file."""

    def __init__(self, inputs: int, outputs: int, kernel: int, stride: int, expand: int) -> None:
        super().__init__()
        middle = inputs * expand
        if expand != 1:
            self._expand_conv = _SameConv(inputs, middle, 1, bias=False)
            self._bn0 = _norm(middle)
        self._depthwise_conv = _SameConv(
            middle, middle, kernel, stride=stride, groups=middle, bias=False
        )
        self._bn1 = _norm(middle)
        self._project_conv = _SameConv(middle, outputs, 1, bias=False)
        self._bn2 = _norm(outputs)
        self.expands = expand != 1
        self.residual = stride == 1 and inputs == outputs

    def forward(self, x: Tensor, drop: float = 0.0) -> Tensor:
        y = x
        if self.expands:
            y = functional.relu6(self._bn0(self._expand_conv(y)))
        y = functional.relu6(self._bn1(self._depthwise_conv(y)))
        y = self._bn2(self._project_conv(y))
        if not self.residual:
            return y
        if self.training and drop > 0:
            keep = torch.rand(len(y), 1, 1, 1, device=y.device) >= drop
            y = y * keep.to(y.dtype) / (1 - drop)
        return x + y


class Trunk(nn.Module):
    """EfficientNet-Lite without its classifier, giving features at strides 4 to 32 and pooled."""

    def __init__(self, variant: str = "lite0") -> None:
        super().__init__()
        width, depth = VARIANTS[variant]
        self._conv_stem = _SameConv(3, 32, 3, stride=2, bias=False)
        self._bn0 = _norm(32)
        blocks: list[_Block] = []
        taps: list[int] = []
        channels: list[int] = []
        inputs = 32
        for index, (kernel, stride, expand, outputs, repeats) in enumerate(_STAGES):
            outputs = _round_channels(outputs, width)
            if 0 < index < len(_STAGES) - 1:
                repeats = math.ceil(repeats * depth)
            for repeat in range(repeats):
                blocks.append(_Block(inputs, outputs, kernel, stride if repeat == 0 else 1, expand))
                inputs = outputs
            if index in (1, 2, 4, 6):  # last stage at strides 4, 8, 16, 32
                taps.append(len(blocks) - 1)
                channels.append(outputs)
        self._blocks = nn.ModuleList(blocks)
        self.taps = tuple(taps)
        self.channels = tuple(channels)
        self._conv_head = _SameConv(inputs, 1280, 1, bias=False)
        self._bn1 = _norm(1280)

    def forward(self, x: Tensor, drop: float = 0.0) -> tuple[list[Tensor], Tensor]:
        """Features at strides 4, 8, 16, 32 and the 1280 features pooled over the picture."""
        x = functional.relu6(self._bn0(self._conv_stem(x)))
        features = []
        for index, block in enumerate(self._blocks):
            x = block(x, drop * index / len(self._blocks))
            if index in self.taps:
                features.append(x)
        x = functional.relu6(self._bn1(self._conv_head(x)))
        return features, x.mean(dim=(2, 3))

    def load(self, path: Path) -> None:
        """Load the pretrained file of the registry package."""
        state = torch.load(path, map_location="cpu", weights_only=True)
        self.load_state_dict(
            {
                key: value.float() if value.is_floating_point() else value
                for key, value in state.items()
                if not key.startswith("_fc.")  # the ImageNet classes
            }
        )


def _mix(inputs: int, outputs: int) -> nn.Sequential:
    """Depthwise 3 x 3 and pointwise 1 x 1 convolution."""
    return nn.Sequential(
        nn.Conv2d(inputs, inputs, 3, padding=1, groups=inputs, bias=False),
        nn.Conv2d(inputs, outputs, 1, bias=False),
        nn.BatchNorm2d(outputs),
        nn.ReLU6(),
    )


def _lateral(inputs: int, outputs: int) -> nn.Sequential:
    return nn.Sequential(nn.Conv2d(inputs, outputs, 1, bias=False), nn.BatchNorm2d(outputs))


def _surface_tones(pixels: Tensor, probability: Tensor) -> Tensor:
    """Mean log of red, green and blue (n, 33) of surfaces 1 to 9, of all, and of the bright end.

    `probability` (n, 10, h/8, w/8) tells where the surfaces are. The bright end is the power mean
    of order 6 (G. D. Finlayson and E. Trezzi, "Shades of gray and colour constancy", CIC 2004).
    """
    level = functional.avg_pool2d(pixels, 8) / 255.0 + 0.015
    logs = torch.log(level).flatten(2) + 0.75  # (n, 3, cells), about 0 for an ordinary photo
    whole = logs.mean(dim=2)
    chosen = probability[:, 1:].flatten(2)
    sums = torch.matmul(chosen, logs.transpose(1, 2))  # (n, 9, 3)
    weight = chosen.sum(dim=2, keepdim=True)
    each = (sums + _LEAST_CELLS * whole[:, None, :]) / (weight + _LEAST_CELLS)
    square = level * level
    bright = torch.log((square * square * square).flatten(2).mean(dim=2)) / 6.0 + 0.75
    return torch.cat([each.flatten(1), whole, bright], dim=1)


class RoomNetwork(nn.Module):
    """Surfaces and whole-picture heads of one picture.

    Input is RGB, float, 0 to 255, shape (n, 3, h, w) with h and w multiples of 32.
    """

    def __init__(self, variant: str = "lite0", width: int = 96, fine_width: int = 48) -> None:
        super().__init__()
        self.variant = variant
        self.trunk = Trunk(variant)
        c4, c8, c16, c32 = self.trunk.channels
        self.lateral32 = _lateral(c32, width)
        self.context = nn.Linear(1280, width)
        self.lateral16 = _lateral(c16, width)
        self.mix16 = _mix(width, width)
        self.lateral8 = _lateral(c8, width)
        self.mix8 = _mix(width, width)
        self.mix8b = _mix(width, width)
        self.down8 = _lateral(width, fine_width)
        self.lateral4 = _lateral(c4, fine_width)
        self.mix4 = _mix(fine_width, fine_width)
        self.classify = nn.Conv2d(fine_width, len(SURFACE_LETTERS), 1)
        pooled = width + 6
        self.pooled_norm = nn.LayerNorm(len(_POOLED_SURFACES) * pooled, elementwise_affine=False)
        features = 1280 + len(_POOLED_SURFACES) * pooled + 10 + 6
        self.tones = nn.Sequential(
            nn.Linear(_TONES + 10, 64), nn.ReLU(), nn.Linear(64, _TONAL_WIDTH), nn.ReLU()
        )
        self.heads = nn.ModuleDict(
            {
                name: nn.Linear(features + _TONAL_WIDTH * (name in _TONAL), len(classes))
                for name, classes in HEADS.items()
            }
        )
        self.register_buffer("codes", torch.from_numpy(letter_to_code_matrix()))

    def forward(
        self, pixels: Tensor, drop: float = 0.0, dropout: float = 0.0
    ) -> tuple[Tensor, dict[str, Tensor]]:
        """Surface logits by letter at stride 4 and head logits by name."""
        x = (pixels - 127.0) / 128.0
        (f4, f8, f16, f32), overall = self.trunk(x, drop)
        top = self.lateral32(f32) + self.context(overall)[:, :, None, None]
        top = self.mix16(self.lateral16(f16) + functional.interpolate(top, scale_factor=2.0))
        middle = self.mix8(self.lateral8(f8) + functional.interpolate(top, scale_factor=2.0))
        middle = self.mix8b(middle) + middle
        fine = self.lateral4(f4) + functional.interpolate(self.down8(middle), scale_factor=2.0)
        logits = self.classify(self.mix4(fine))

        probability = functional.avg_pool2d(self.code_probability(logits), 2)
        small = functional.avg_pool2d(x, 8)
        local = torch.cat([middle, small, small * small], dim=1)
        chosen = probability[:, list(_POOLED_SURFACES)].flatten(2)  # (n, 4, cells)
        sums = torch.matmul(chosen, local.flatten(2).transpose(1, 2))
        pooled = sums / (chosen.sum(dim=2, keepdim=True) + 1.0)
        shares = probability.mean(dim=(2, 3))
        colour = torch.cat([small.mean(dim=(2, 3)), (small * small).mean(dim=(2, 3))], dim=1)
        joined = torch.cat(
            [overall, 0.5 * self.pooled_norm(pooled.flatten(1)), shares, colour], dim=1
        )
        if dropout > 0 and self.training:
            joined = functional.dropout(joined, dropout)
        tones = self.tones(torch.cat([_surface_tones(pixels, probability), shares], dim=1))
        tonal = torch.cat([joined, tones], dim=1)
        heads = {n: head(tonal if n in _TONAL else joined) for n, head in self.heads.items()}
        return logits, heads

    def code_probability(self, logits: Tensor) -> Tensor:
        """Probability of each surface code 0 to 9 (0, unknown, is always 0) from letter logits."""
        shares = torch.softmax(logits, dim=1)
        return functional.conv2d(shares, self.codes[:, :, None, None].to(shares.dtype))


class Deployed(nn.Module):
    """What goes into the ONNX file: probabilities only, in the order that the reader expects."""

    def __init__(self, network: RoomNetwork) -> None:
        super().__init__()
        self.network = network

    def forward(self, pixels: Tensor) -> tuple[Tensor, Tensor]:
        logits, heads = self.network(pixels)
        shares = [torch.softmax(heads[name], dim=1) for name in HEADS]
        return self.network.code_probability(logits), torch.cat(shares, dim=1)
