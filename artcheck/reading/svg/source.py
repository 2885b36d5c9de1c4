"""From the file's bytes to SVG elements: unpacked within a budget, parsed without entities."""

from __future__ import annotations

import gzip
import io
import zlib
from xml.etree.ElementTree import Element

from artcheck.errors import DamagedArtError, ReachingArtError, TooLargeArtError
from artcheck.reading.budget import MOST_SVG_BYTES
from artcheck.reading.svg.tags import SVG


def unpacked(data: bytes, name: str) -> bytes:
    """The SVG's text as bytes, whether packed with gzip or not."""
    if data.startswith(b"\x1f\x8b"):
        try:
            with gzip.open(io.BytesIO(data)) as packed:
                data = packed.read(MOST_SVG_BYTES + 1)
        except (OSError, EOFError, zlib.error):
            raise DamagedArtError(f"{name} is a damaged packed SVG. Ask for it again.") from None
    if len(data) > MOST_SVG_BYTES:
        raise TooLargeArtError(
            f"{name} is an SVG of more than {MOST_SVG_BYTES // 1024**2} MB. Send it as PDF or PNG."
        )
    return data


def parsed(data: bytes, name: str) -> Element:
    """The root element, its names in SVG's namespace.

    Raises
    ------
    ReachingArtError
        It declares entities.
    DamagedArtError
        It is no XML, or another kind of it.
    """
    from defusedxml import ElementTree
    from defusedxml.common import DefusedXmlException

    try:
        root: Element = ElementTree.fromstring(data, forbid_dtd=False)
    except DefusedXmlException:
        raise ReachingArtError(
            f"{name} declares entities, as harmful files do. Export it again as plain SVG."
        ) from None
    except (ElementTree.ParseError, ValueError, LookupError, RecursionError) as fault:
        raise DamagedArtError(f"{name} is no readable SVG ({fault}). Export it again.") from None
    if root.tag not in (f"{SVG}svg", "svg"):
        raise DamagedArtError(f"{name} is XML but not an SVG drawing. Export it as SVG.")
    if root.tag == "svg":
        _name_space(root)
    return root


def _name_space(root: Element) -> None:
    """A drawing cut out of a web page names no namespace: it is SVG's."""
    for element in root.iter():
        if isinstance(element.tag, str) and not element.tag.startswith("{"):
            element.tag = SVG + element.tag
