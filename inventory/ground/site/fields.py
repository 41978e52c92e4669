"""Form fields that hand over domain values: shares, money, lengths and days from text as makers write it; photographs."""

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile, UploadedFile
from django.utils import timezone

from inventory.ground.days import EARLIEST, LATEST
from inventory.ground.materials import StockUnit
from inventory.ground.measures import amount_of, quantity_of, quantity_text
from inventory.ground.money import Currency
from inventory.ground.photo_files import MOST_PHOTO_BYTES, PHOTO_TYPES, photo_file
from inventory.ground.pictures import Picture
from inventory.ground.units import MM_PER_UNIT, LengthUnit, parse_length, parse_number

__all__ = [
    "DayField",
    "FactField",
    "FieldRow",
    "LengthField",
    "MoneyField",
    "PercentField",
    "PhotoField",
    "PictureField",
    "QuantityField",
    "UnitCostField",
    "must_be_believable",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldRow:
    """Fields of a form that stand in one row of a page, under the same words."""

    words: str
    fields: Sequence[forms.BoundField]


def _decimal(text: str) -> Decimal:
    """Read a plain number exactly. Raises ValidationError with the reader's sentence."""
    try:
        fraction = parse_number(text)
    except ValueError as error:
        raise ValidationError(str(error)) from None
    return Decimal(fraction.numerator) / Decimal(fraction.denominator)


def _plain(value: Decimal) -> str:
    """A decimal without needless zeros or an exponent."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


class _TextNumberField(forms.CharField):
    """Typed as text so that `28 1/2` and `0,5` are welcome; phones show the number keys."""

    unit = ""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.update(inputmode="decimal", autocomplete="off")
        if self.unit:
            self.widget.attrs["data-unit"] = self.unit


class PercentField(_TextNumberField):
    """A percentage on the page, a share as `Decimal` below it: 15 becomes 0.15."""

    unit = "%"

    def __init__(self, *, most: Decimal = Decimal(1), **kwargs: Any) -> None:
        self.most = most
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        return _plain(value * 100) if isinstance(value, Decimal) else value

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        share = _decimal(text.removesuffix("%").strip()) / 100
        if not 0 <= share <= self.most:
            raise ValidationError(f"{text} is outside 0 to {self.most * 100:f} percent.")
        return share


class _DecimalField(_TextNumberField, ABC):
    """A number within limits, with up to `decimals` decimals."""

    decimals: int

    def prepare_value(self, value: Any) -> Any:
        return _plain(value) if isinstance(value, Decimal) else value

    def clean(self, value: Any) -> Decimal | int | None:
        text = super().clean(value)
        if not text:
            return None
        number = _decimal(text)
        if words := self.wrong(number):
            raise ValidationError(f"{text} is {words}.")
        if number != round(number, self.decimals):
            raise ValidationError(f"{text} has more than {self.decimals} decimals.")
        return self.handed_over(number)

    @abstractmethod
    def wrong(self, number: Decimal) -> str:
        """Say which limit a number breaks; empty for none."""

    def handed_over(self, number: Decimal) -> Decimal | int:
        """What stands for the number below the form."""
        return number


class MoneyField(_DecimalField):
    """An amount of zero or more, with no more decimals than the currency has."""

    def __init__(self, *, currency: Currency, **kwargs: Any) -> None:
        self.decimals = currency.digits
        self.unit = currency.code
        super().__init__(**kwargs)

    def wrong(self, number: Decimal) -> str:
        if number < 0:
            return "less than zero"
        return "more than can be kept" if number >= 10**12 else ""


class FactField(_DecimalField):
    """A measured number of more than zero and at most `most`, with up to `decimals` decimals."""

    def __init__(self, *, most: Decimal, decimals: int = 4, **kwargs: Any) -> None:
        self.most, self.decimals = most, decimals
        super().__init__(**kwargs)

    def wrong(self, number: Decimal) -> str:
        return "" if 0 < number <= self.most else f"outside what is believed, up to {self.most:f}"


class UnitCostField(MoneyField):
    """What one metre or piece costs: up to six decimals, in whatever currency the workroom keeps."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(currency=Currency(code="", digits=6), **kwargs)


class LengthField(_TextNumberField):
    """A length in the page's unit or with its own (`28 1/2"`, `72,5 cm`), millimetres below the form."""

    def __init__(
        self, *, length_unit: LengthUnit = LengthUnit.MM, least_mm: float = 0.0, most_mm: float = 3000.0, **kwargs: Any
    ) -> None:
        self.length_unit, self.least_mm, self.most_mm = length_unit, least_mm, most_mm
        self.unit = length_unit.value
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, float):
            return value
        return f"{value / float(MM_PER_UNIT[self.length_unit]):.2f}".rstrip("0").rstrip(".")

    def clean(self, value: Any) -> float | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            length = parse_length(text, self.length_unit)
        except ValueError as error:
            raise ValidationError(str(error)) from None
        if not self.least_mm <= length <= self.most_mm:
            raise ValidationError(f"{text} is outside {self.least_mm:g} to {self.most_mm:g} mm.")
        return length


def must_be_believable(day: date) -> None:
    """Raise ValidationError for a day that is a slip of the pen."""
    if not EARLIEST <= day <= LATEST:
        raise ValidationError(f"Days are from {EARLIEST.year} to {LATEST.year}; look at the year.")


class DayField(forms.DateField):
    """A day, picked from the browser's own calendar; `has_come` where it cannot be later than today."""

    def __init__(self, *, has_come: bool = False, **kwargs: Any) -> None:
        self.has_come = has_come
        super().__init__(widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}), **kwargs)

    def clean(self, value: Any) -> date | None:
        day: date | None = super().clean(value)
        if day is not None:
            must_be_believable(day)
        if self.has_come and day is not None and day > timezone.localdate():
            raise ValidationError("That day is still to come.")
        return day


class PhotoField(forms.FileField):
    """A photograph; it leaves as a file written anew, under a name of its own."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(label="Photograph", **kwargs)
        self.widget.attrs["accept"] = ",".join(PHOTO_TYPES.values())

    def clean(self, value: Any, initial: Any = None) -> Any:
        photo = super().clean(value, initial)
        if not isinstance(photo, UploadedFile):
            return photo
        if (photo.size or 0) > MOST_PHOTO_BYTES:
            raise ValidationError(f"The picture has more than {MOST_PHOTO_BYTES // 1_000_000} MB.")
        try:
            name, data = photo_file(photo.read())
        except ValueError as error:
            raise ValidationError(str(error)) from None
        return SimpleUploadedFile(name, data, "image/jpeg")


class PictureField(forms.FileField):
    """A picture that is shown to clients, made by `make` of the file's bytes; None where no file was sent.

    `make` raises ValueError, in a sentence, for what is no picture.
    """

    def __init__(self, make: Callable[[bytes], Picture], **kwargs: Any) -> None:
        self.make: Callable[[bytes], Picture] = make
        super().__init__(widget=forms.FileInput(attrs={"accept": ",".join(PHOTO_TYPES.values())}), **kwargs)

    def clean(self, value: Any, initial: Any = None) -> Picture | None:
        file = super().clean(value, None)
        if not isinstance(file, UploadedFile):
            return None
        if (file.size or 0) > MOST_PHOTO_BYTES:
            raise ValidationError(f"The picture has more than {MOST_PHOTO_BYTES // 1_000_000} MB.")
        try:
            return self.make(file.read())
        except ValueError as error:
            raise ValidationError(str(error)) from None


# Thread comes in cones of kilometres.
MOST_STOCK_MM = 1e9


class QuantityField(_TextNumberField):
    """An amount in the unit that an item is counted in (`2.5`, `2 1/2`), whole base units below the form.

    Lengths may carry a unit of their own (`2 yd`, `250 cm`).
    """

    def __init__(self, *, stock_unit: StockUnit, least: int = 1, **kwargs: Any) -> None:
        self.stock_unit, self.least = stock_unit, least
        self.unit = stock_unit.value
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        return f"{amount_of(value, self.stock_unit):f}" if isinstance(value, int) else value

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            if self.stock_unit is StockUnit.METRE:
                quantity = round(parse_length(text, LengthUnit.METRE, most_mm=MOST_STOCK_MM))
            else:
                quantity = quantity_of(_decimal(text), self.stock_unit)
        except ValueError as error:
            raise ValidationError(str(error)) from None
        if quantity < self.least:
            raise ValidationError(f"{text} is less than {quantity_text(self.least, self.stock_unit)}.")
        return quantity
