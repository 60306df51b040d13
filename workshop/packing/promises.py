"""What the label of a product promises of its contents, by weight or by volume."""

from workshop.packing.models import Product
from workshop.rules.labels.net_contents import (
    MOST_DECIMALS,
    NetContents,
    net_weight_eu,
    net_weight_us,
)
from workshop.rules.labels.net_volume import net_volume_eu, net_volume_us


def promise_us(product: Product, *, ounce_decimals: int = MOST_DECIMALS) -> NetContents:
    """The US statement. Raises RuleError as its rule does."""
    if product.fill_ml and product.density_g_per_ml:
        density = product.density_g_per_ml
        return net_volume_us(product.fill_ml, density, ounce_decimals=ounce_decimals)
    return net_weight_us(product.fill_g, ounce_decimals=ounce_decimals)


def stated_eu(product: Product, *, e_mark: bool = False) -> str:
    """The nominal content of an EU or UK label. Raises RuleError as its rule does."""
    if product.fill_ml:
        return net_volume_eu(product.fill_ml, e_mark=e_mark)
    return net_weight_eu(product.fill_g, e_mark=e_mark)
