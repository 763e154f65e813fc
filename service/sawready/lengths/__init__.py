"""Written lengths, pairs, readings, counts, angles and dates: text to exact values, or refusals.

A number that could be wrong is refused with its candidates; nothing is ever guessed in silence.
"""

from sawready.lengths.counts import read_angle, read_date, read_quantity
from sawready.lengths.reader import LONGEST_TEXT, read_length
from sawready.lengths.results import (
    NUMBER_STYLES,
    Angle,
    Axis,
    Count,
    Length,
    NumberStyle,
    Pair,
    Readings,
    Refusal,
    Remark,
    WrittenDate,
)
from sawready.lengths.several import PairOrder, read_pair, read_readings

__all__ = [
    "LONGEST_TEXT",
    "NUMBER_STYLES",
    "Angle",
    "Axis",
    "Count",
    "Length",
    "NumberStyle",
    "Pair",
    "PairOrder",
    "Readings",
    "Refusal",
    "Remark",
    "WrittenDate",
    "read_angle",
    "read_date",
    "read_length",
    "read_pair",
    "read_quantity",
    "read_readings",
]
