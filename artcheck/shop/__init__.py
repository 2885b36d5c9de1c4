"""The shop's own inks, methods, prices and limits: packaged defaults under the shop's file."""

from artcheck.shop.load import load_order, load_shop, packaged_shop_text

__all__ = ["load_order", "load_shop", "packaged_shop_text"]
