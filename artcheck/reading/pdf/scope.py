"""Where the names in a stream are looked up (ISO 32000-1, 7.8.3), as the renderer does it."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

from artcheck.reading.pdf.steps import Place, is_dictionary, place_of

_NOWHERE: Final[Place] = (0, 0)


class Scope(NamedTuple):
    """Resources of a stream, and those lent to it: the page's, or a font's to its glyphs.

    ``owner`` says where both stand.
    """

    resources: Any
    lent: Any
    owner: tuple[Place, Place]

    def holder(self, kind: str) -> Any:
        """The dictionary of a kind: a lent one where the stream's own resources have none."""
        import pikepdf

        for one in (self.resources, self.lent):
            if one is not None and is_dictionary(holder := one.get(kind)):
                return holder
        return pikepdf.Dictionary()

    def own(self, resources: Any, place: Place) -> Scope:
        """Of a stream with resources of its own; without, it uses those of what names it."""
        if not is_dictionary(resources):
            return self
        return Scope(resources, self.lent, (_standing(resources, place), self.owner[1]))

    def font(self, resources: Any, place: Place) -> Scope:
        """Of a font's glyphs: its resources are lent too."""
        own = self.own(resources, place)
        return Scope(own.resources, own.resources, (own.owner[0], own.owner[0]))

    def lending(self, page: Scope | None) -> Scope:
        """Of a mask, to which the page's are lent, or of a tile, to which none are."""
        if page is None:
            return Scope(self.resources, None, (self.owner[0], _NOWHERE))
        return Scope(self.resources, page.resources, (self.owner[0], page.owner[0]))


def page_scope(resources: Any, place: Place) -> Scope:
    """Of a page: what others lack is looked for there."""
    standing = _standing(resources, place)
    return Scope(resources, resources, (standing, standing))


def _standing(resources: Any, place: Place) -> Place:
    """Resources that are an object are the same wherever they are named."""
    return place_of(resources) if resources.is_indirect else place
