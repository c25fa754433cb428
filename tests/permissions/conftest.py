from tests.campaigns.conftest import _all_addresses
from tests.permissions.world import world

__all__ = ["_all_addresses", "world"]
