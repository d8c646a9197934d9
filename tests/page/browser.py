"""Headless Chromium, driven by WebDriver, without anything that would ask the network."""

import time

from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service


def browser():
    options = Options()
    for word in (
        "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        "--disable-dev-shm-usage", "--disable-extensions",
    ):
        options.add_argument(word)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    return webdriver.Chrome(service=Service("/usr/bin/chromedriver"), options=options)


def seconds_to_open(driver, page):
    """From asking for a file until it is painted."""
    driver.get("about:blank")
    begun = time.monotonic()
    driver.get(f"file://{page}")
    driver.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[arguments.length - 1]))")
    return time.monotonic() - begun
