"""A real JupyterLab on a copy of the notebooks, and Debian's Chromium looking at it."""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

TOKEN = "only-for-this-test"
#: The checker of accessibility (Deque Systems, MPL-2.0), from npm when a test runs; no part of this project.
AXE = "axe-core@4.14.1"
#: Screenshots are kept here for somebody to look at; git does not.
SHOTS = Path(__file__).parent / "shots"


def browser_program() -> str:
    """Path of a Chromium, or skip where there is none."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        path = shutil.which(name)
        if path:
            return path
    pytest.skip("no Chromium is installed")


@pytest.fixture(scope="session")
def chromium() -> Iterator[object]:
    """A browser without a window."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=browser_program(), args=["--no-sandbox", "--force-color-profile=srgb"]
        )
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed")
    place = tmp_path_factory.mktemp("axe")
    command = [npm, "install", "--silent", "--no-audit", "--no-fund", "--prefix", str(place), AXE]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    if done.returncode:
        pytest.skip("npm cannot install axe-core here")
    return (place / "node_modules/axe-core/axe.min.js").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def workplace(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Path:
    """What a user has after cloning: the notebooks beside the sample data."""
    place = tmp_path_factory.mktemp("workplace")
    for name in ("notebooks", "sample_data"):
        shutil.copytree(root / name, place / name)
    return place


@pytest.fixture(scope="session", params=["light", "dark"])
def lab(
    request: pytest.FixtureRequest, workplace: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[str, str]]:
    """Address of a running JupyterLab, and its theme."""
    theme = str(request.param)
    home = tmp_path_factory.mktemp(f"home_{theme}")
    _settings(home / "settings", theme)
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    environment = os.environ | {
        "HOME": str(home),
        "JUPYTER_CONFIG_DIR": str(home / "config"),
        "JUPYTER_DATA_DIR": str(home / "data"),
        "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
        "IPYTHONDIR": str(home / "ipython"),
        "JUPYTERLAB_SETTINGS_DIR": str(home / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(home / "workspaces"),
    }
    command = [sys.executable, "-m", "jupyter", "lab", "--no-browser", "--allow-root"]
    command += [f"--ServerApp.port={port}", f"--IdentityProvider.token={TOKEN}"]
    command += [f"--ServerApp.root_dir={workplace}", "--expose-app-in-browser"]
    command += [
        "--ServerApp.ip=127.0.0.1",
        "--LabApp.news_url=",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    ]
    log = (home / "log.txt").open("w")
    server = subprocess.Popen(command, env=environment, stdout=log, stderr=log, cwd=workplace)
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_for(address, server, home / "log.txt")
        yield address, theme
    finally:
        server.terminate()
        try:
            server.wait(20)
        except subprocess.TimeoutExpired:
            server.kill()
        log.close()


def _settings(folder: Path, theme: str) -> None:
    """Theme, and every cell drawn although it is out of sight."""
    wanted = {
        "apputils-extension/themes": {
            "theme": "JupyterLab Dark" if theme == "dark" else "JupyterLab Light"
        },
        "notebook-extension/tracker": {"windowingMode": "none"},
        "apputils-extension/notification": {"fetchNews": "false"},
    }
    for name, content in wanted.items():
        file = folder / "@jupyterlab" / f"{name}.jupyterlab-settings"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps(content))


def _wait_for(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(240):
        if server.poll() is not None:
            pytest.fail(f"JupyterLab ended: {log.read_text()[-600:]}")
        try:
            with urllib.request.urlopen(f"{address}/api?token={TOKEN}", timeout=2) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.25)
    pytest.fail(f"JupyterLab did not answer within a minute: {log.read_text()[-600:]}")


@dataclass(frozen=True)
class Desk:
    """A user before a browser with JupyterLab in it.

    Attributes
    ----------
    browser : object
    address, theme : str
    place : Path
        Where his copy of the notebooks is.
    """

    browser: Any
    address: str
    theme: str
    place: Path

    def open(self, notebook: str, *, run: bool = True) -> Any:
        """The notebook in a page of its own, every cell run unless that is left to the user."""
        page = self.browser.new_page(viewport={"width": 1360, "height": 1000})
        page.set_default_timeout(45_000)
        page.goto(f"{self.address}/lab/tree/{notebook}?token={TOKEN}&reset")
        page.wait_for_function(
            "window.jupyterapp && window.jupyterapp.commands.hasCommand('notebook:run-all-cells')"
        )
        page.wait_for_selector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Cell")
        page.wait_for_function(
            "window.jupyterapp.shell.currentWidget?.sessionContext?.session?.kernel?.status === 'idle'"
        )
        if not run:
            return page
        page.evaluate("window.jupyterapp.commands.execute('notebook:run-all-cells')")
        # Cells that ran have a number; those after an error have none, and nothing is busy.
        page.wait_for_function(
            """() => {
                const prompts = [...document.querySelectorAll('.jp-CodeCell .jp-InputPrompt')];
                const texts = prompts.map(p => p.innerText);
                return texts.some(t => /\\d/.test(t)) && !texts.some(t => t.includes('*'));
            }"""
        )
        return page

    def shot(self, page: Any, name: str) -> None:
        """A picture of what is on the screen, for somebody to look at."""
        SHOTS.mkdir(exist_ok=True)
        page.screenshot(path=SHOTS / f"{name}.png")


@pytest.fixture
def desk(chromium: object, lab: tuple[str, str], workplace: Path) -> Desk:
    """A user before a browser with JupyterLab in it."""
    return Desk(chromium, *lab, workplace)
