"""The languages a certificate can be issued in."""

from typing import Literal, get_args

Language = Literal["en", "de", "fr", "es"]
LANGUAGES: tuple[Language, ...] = get_args(Language)
