"""Fixtures shared by all tests."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
import time

import numpy as np
import pytest
from hypothesis import settings

from missionsim.base.assumptions import Assumptions, packaged_assumptions

# No deadline: the first call pays for imports. Derandomised: a failure on one machine is a failure on all.
settings.register_profile("missionsim", deadline=None, derandomize=True, max_examples=100, database=None)
# `pytest --hypothesis-profile=long` searches long, and for new cases each time.
settings.register_profile("long", deadline=None, derandomize=False, max_examples=3_000, print_blob=True)
settings.load_profile("missionsim")


@pytest.fixture(scope="session")
def assumptions() -> Assumptions:
    """Return the packaged assumptions."""
    return packaged_assumptions()


@pytest.fixture
def rng() -> np.random.Generator:
    """Return a generator for test data; tests of random streams make their own."""
    return np.random.default_rng(20_260_101)


# A run in the background may inherit ignored interrupts; a person at a terminal never does.
LISTENING = "import signal\nsignal.signal(signal.SIGINT, signal.default_int_handler)\n"


@pytest.fixture
def interrupted():
    """Return a function that interrupts a long comparison in a folder and gives what it then said on stderr."""
    def interrupt(folder, *arguments: str) -> str:
        words = ["compare", *arguments, "--replications", "90000"]
        code = f"{LISTENING}from missionsim.cli import main\nmain({words!r})"
        with subprocess.Popen([sys.executable, "-c", code], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              text=True) as process:
            assert "Flying" in process.stderr.readline()
            time.sleep(2.0)
            process.send_signal(signal.SIGINT)
            try:
                _, said = process.communicate(timeout=600)
            finally:
                process.kill()
        assert process.returncode == 130
        assert "Interrupted after" in said
        assert "Nothing was written" in said
        assert "Traceback" not in said
        return said
    return interrupt


CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync", "--window-size=1280,900")


@pytest.fixture(scope="module")
def browser():
    if not CHROMIUM or not DRIVER:
        pytest.skip("no chromium and chromedriver on this machine")
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service
    options = webdriver.ChromeOptions()
    for flag in FLAGS:
        options.add_argument(flag)
    options.binary_location = CHROMIUM
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    yield driver
    driver.quit()
