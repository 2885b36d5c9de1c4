"""Process inks of a page, as the press they are meant for prints them.

PDF states ink amounts (DeviceCMYK) without saying how they look; the output intent of a page for
print does (ISO 32000-1, 14.11.5). The renderer knows no output intents, so the page is rewritten to
name the intent's profile wherever it names plain CMYK. A page without an intent gets the packaged
print condition, as every other CMYK file.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from artcheck.domain.artwork import ReadingNote
from artcheck.reading.pdf.contents import Contents
from artcheck.reading.pdf.steps import strict_instructions
from artcheck.reading.press import CMYK_NOTE, packaged_profile

if TYPE_CHECKING:
    import pikepdf

_NAME = "/ArtcheckPress"
_REPLACED = {"k": ("cs", "scn"), "K": ("CS", "SCN")}


def through_press(document: pikepdf.Pdf, content: Contents) -> tuple[str | None, list[ReadingNote]]:
    """Rewrite the document's only page; the profile's words, and what to tell."""
    if not content.uses_cmyk:
        return None, []
    own, notes = _intent(document)
    profile = own or packaged_profile()
    space = _space(document, profile)
    for stream in (document.pages[0], *content.streams):
        _rewrite(stream, document, space)
    for resources in content.resources:
        _replace_in(resources, space)
    return (_words(profile), notes) if own else (None, [CMYK_NOTE, *notes])


def _intent(document: pikepdf.Pdf) -> tuple[bytes | None, list[ReadingNote]]:
    """The CMYK profile of the output intent, if there is a usable one."""
    for intent in document.Root.get("/OutputIntents", []):
        stream = intent.get("/DestOutputProfile")
        if stream is None:
            continue
        data = bytes(stream.read_bytes())
        if data[16:20] == b"CMYK" and _words(data):
            return data, []
        if data[16:20] in (b"RGB ", b"GRAY"):
            continue
        text = "The page's output profile is broken or does not fit: its inks are read without it."
        return None, [ReadingNote(id="profile-unusable", text=text)]
    return None, []


def _words(data: bytes) -> str | None:
    from PIL import ImageCms

    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(data))
        return " ".join(ImageCms.getProfileDescription(profile).split()) or "unnamed profile"
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None


def _space(document: pikepdf.Pdf, profile: bytes) -> pikepdf.Array:
    import pikepdf

    stream = document.make_stream(profile)
    stream.N = 4
    stream.Alternate = pikepdf.Name.DeviceCMYK
    return pikepdf.Array([pikepdf.Name.ICCBased, stream])


def _rewrite(holder: Any, document: pikepdf.Pdf, space: Any) -> None:
    """The instructions of a page or of a stream that it runs."""
    import pikepdf

    instructions = strict_instructions(holder)
    data = pikepdf.unparse_content_stream([n for i in instructions for n in _profiled(i)])
    if isinstance(holder, pikepdf.Page):
        holder.obj.Contents = document.make_stream(data)
        return
    holder.write(data)
    if "/PatternType" in holder and "/Resources" not in holder:  # a tile uses none but its own
        holder.Resources = pikepdf.Dictionary(ColorSpace={_NAME: space})


def _profiled(instruction: Any) -> list[Any]:
    """Instructions in place of one that sets plain CMYK."""
    import pikepdf

    operator = str(instruction.operator)
    name, operands = pikepdf.Name(_NAME), list(getattr(instruction, "operands", []))
    if operator in _REPLACED:
        choose, fill = _REPLACED[operator]
        return [
            pikepdf.ContentStreamInstruction([name], pikepdf.Operator(choose)),
            pikepdf.ContentStreamInstruction(operands, pikepdf.Operator(fill)),
        ]
    if operator in ("cs", "CS") and operands and operands[0] == "/DeviceCMYK":
        return [pikepdf.ContentStreamInstruction([name], instruction.operator)]
    return [instruction]


def _replace_in(resources: Any, space: Any) -> None:
    """What resources name, and the press itself under a name of its own."""
    import pikepdf

    spaces = resources.get("/ColorSpace", pikepdf.Dictionary())
    for key, value in dict(spaces).items():
        _replace_inner(value, space)
        if value == "/DeviceCMYK" or value == pikepdf.Array([pikepdf.Name.DeviceCMYK]):
            spaces[key] = space
    spaces[_NAME] = space
    resources[pikepdf.Name.ColorSpace] = spaces
    for key in ("/XObject", "/Shading"):
        for entry in dict(resources.get(key, {})).values():
            _replace_entry(entry, "/ColorSpace", space)
    for pattern in dict(resources.get("/Pattern", {})).values():
        _replace_entry(pattern.get("/Shading", {}), "/ColorSpace", space)


def _replace_entry(holder: Any, key: str, space: Any) -> None:
    if key not in holder:
        return
    if holder[key] == "/DeviceCMYK":
        holder[key] = space
    else:
        _replace_inner(holder[key], space)


def _replace_inner(value: Any, space: Any) -> None:
    """Plain CMYK within another colour space: the base of a palette, a spot ink's stand-in."""
    import pikepdf

    if not isinstance(value, pikepdf.Array) or not len(value):
        return
    place = {"/Indexed": 1, "/Pattern": 1, "/Separation": 2, "/DeviceN": 2}.get(str(value[0]))
    if place is not None and len(value) > place and value[place] == "/DeviceCMYK":
        value[place] = space
