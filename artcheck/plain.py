"""Text from strangers (file names, names in files), made harmless to show."""

from __future__ import annotations


def plain(text: str) -> str:
    r"""Text from a stranger made harmless to a terminal: what does not print is shown escaped.

    Control characters, line ends, direction marks and broken encodings come out as ``\n``,
    ``\x1b`` or ``\u202e``; spaces of every width as a space.
    """
    return "".join(_shown(character) for character in text)


def _shown(character: str) -> str:
    if character.isprintable():
        return character
    if character.isspace() and character not in "\n\r\t\v\f\x1c\x1d\x1e\x1f\x85\u2028\u2029":
        return " "
    return character.encode("unicode_escape").decode("ascii")
