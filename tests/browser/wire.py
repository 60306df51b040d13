"""What a page weighs on the wire when nothing of it is in the browser's cache."""

from playwright.sync_api import Page


def weighed(page: Page, address: str) -> dict[str, int]:
    """The bytes of each thing that came, by its address, until the network is quiet."""
    wire = page.context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.setCacheDisabled", {"cacheDisabled": True})
    came: dict[str, int] = {}
    asked: dict[str, str] = {}
    wire.on(
        "Network.requestWillBeSent",
        lambda one: asked.update({one["requestId"]: one["request"]["url"]}),
    )
    wire.on(
        "Network.loadingFinished",
        lambda done: came.update({done["requestId"]: int(done["encodedDataLength"])}),
    )
    page.goto(address)
    page.wait_for_load_state("networkidle")
    wire.detach()
    return {asked[key]: size for key, size in came.items() if key in asked}


def without_typefaces(sizes: dict[str, int]) -> int:
    """Typefaces are kept by the browser for a year."""
    return sum(size for url, size in sizes.items() if not url.endswith(".woff2"))
