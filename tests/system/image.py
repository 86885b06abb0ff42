"""The virtual machine's memory image: Debian's kernel, bluetoothd, Python and the libraries, kept by their versions.

One archive holds all that is slow to make and stays in a cache; the project's own code is a second, small archive that is
made anew each time. The kernel unpacks both, one after the other, so no disk and no network are needed.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import platform
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

import platformdirs

from tests.checks import ROOT

GUEST = Path(__file__).parent / "guest"
FORMAT = 3
"""Raised when what is below makes another image of the same packages."""
KERNELS = {"debian": "linux-image-amd64", "ubuntu": "linux-image-generic"}
PACKAGES = ("python3-minimal", "libpython3-stdlib", "dbus", "bluez", "kmod")
LIBRARIES = ("bleak", "bumble", "filelock", "numpy", "scipy", "platformdirs")
MODULES = (
    "kernel/net/bluetooth", "kernel/drivers/bluetooth/hci_vhci.ko", "kernel/crypto", "kernel/arch/x86/crypto",
    "kernel/lib", "kernel/net/rfkill", "kernel/drivers/hid/uhid.ko", "kernel/net/6lowpan",
)  # fmt: skip
UNWANTED = (
    "usr/share/doc", "usr/share/man", "usr/share/locale", "usr/share/info", "usr/share/i18n", "usr/share/zoneinfo",
    "usr/share/perl", "usr/share/perl5", "usr/lib/x86_64-linux-gnu/perl", "usr/lib/x86_64-linux-gnu/perl-base",
    "var/cache/apt", "var/lib/apt/lists", "usr/lib/x86_64-linux-gnu/gconv",
)  # fmt: skip
LIMIT_S = 600


class ImageFailed(Exception):
    """A step of the making failed; the message has the end of what it said."""


@dataclass(frozen=True, slots=True)
class Image:
    kernel: Path
    archive: Path
    versions: dict[str, str]


def base_image(cache: Path | None = None) -> Image:
    """Give the image of the packages that are current now, making it if the cache has none. Raises `ImageFailed`."""
    release = _release()
    kernel_package = _kernel_package(KERNELS.get(release["ID"], KERNELS["debian"]))
    versions = {name: _candidate(name) for name in (kernel_package, *PACKAGES)}
    versions |= {name: metadata.version(name) for name in LIBRARIES}
    stamp = json.dumps([FORMAT, release["VERSION_CODENAME"], versions], sort_keys=True)
    key = hashlib.sha256(stamp.encode()).hexdigest()[:16]
    folder = (cache or Path(platformdirs.user_cache_dir("pitchbend", appauthor=False))) / "system-vm"
    home = folder / key
    if not (home / "versions.json").is_file():
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix="making-") as work:
            made = _make(Path(work), kernel_package, release["VERSION_CODENAME"])
            (made / "versions.json").write_text(json.dumps(versions, indent=1))
            shutil.rmtree(home, ignore_errors=True)
            made.rename(home)
        for old in folder.iterdir():  # each is some hundred megabytes
            if old != home:
                shutil.rmtree(old, ignore_errors=True)
    return Image(kernel=home / "vmlinuz", archive=home / "base.cpio.gz", versions=versions)


def with_code(image: Image, folder: Path) -> Path:
    """Add the project as it is now, and what runs in the guest; gives the archive to boot from."""
    tree = folder / "code"
    app = tree / "opt" / "app"
    for package in ("sensors", "fusion", "server"):
        shutil.copytree(
            ROOT / package, app / package, ignore=shutil.ignore_patterns("__pycache__", "static", "firmware")
        )
    for source in GUEST.glob("*.py"):
        shutil.copy(source, app)
    shutil.copy(GUEST / "init.sh", tree / "init")
    (tree / "init").chmod(0o755)
    archive = folder / "boot.cpio.gz"
    shutil.copyfile(image.archive, archive)
    with archive.open("ab") as end:
        end.write(_packed(tree))
    return archive


def _make(work: Path, kernel_package: str, codename: str) -> Path:
    root, kernel, made = work / "root", work / "kernel", work / "made"
    made.mkdir()
    work.chmod(0o755)  # or the daemon's own user could not read in the image
    _run("debootstrap", "--variant=minbase", f"--include={','.join(PACKAGES)}", codename, str(root), _mirror())
    _fetch_kernel(kernel, kernel_package)
    shutil.copy(next((kernel / "boot").glob("vmlinuz-*")), made / "vmlinuz")
    _add_modules(kernel, root)
    _add_libraries(root)
    for name in UNWANTED:
        shutil.rmtree(root / name, ignore_errors=True)
    (made / "base.cpio.gz").write_bytes(_packed(root))
    return made


def _fetch_kernel(folder: Path, package: str) -> None:
    folder.mkdir()
    _run("apt-get", "download", "-q", package, cwd=folder)
    _run("dpkg-deb", "-x", str(next(folder.glob("*.deb"))), str(folder))


def _add_modules(kernel: Path, root: Path) -> None:
    modules = next((kernel / "lib" / "modules").iterdir())
    home = root / "lib" / "modules" / modules.name
    home.mkdir(parents=True, exist_ok=True)
    for name in MODULES:
        source = modules / name
        if source.is_dir():
            shutil.copytree(source, home / name)
        elif source.is_file():
            (home / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(source, home / name)
    for name in ("modules.order", "modules.builtin", "modules.builtin.modinfo"):
        shutil.copy(modules / name, home / name)
    _run("chroot", str(root), "depmod", modules.name)


def _add_libraries(root: Path) -> None:
    """Wheels of the versions that this environment has, for the guest's Python."""
    python = next((root / "usr" / "bin").glob("python3.[0-9]*")).name.removeprefix("python")
    home = root / "opt" / "libraries"
    platforms = [f"--platform=manylinux_2_{n}_x86_64" for n in (5, 12, 17, 24, 27, 28, 31, 34)]
    wanted = [f"{name}=={metadata.version(name)}" for name in LIBRARIES]
    _run(
        sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check", "--target", str(home),
        "--only-binary=:all:", "--implementation=cp", f"--python-version={python}", *platforms,
        "--platform=manylinux2014_x86_64", *wanted,
    )  # fmt: skip
    for tests in [*home.rglob("tests"), *home.rglob("__pycache__")]:
        shutil.rmtree(tests, ignore_errors=True)
    # Compiled here, by the guest's own Python: an emulated processor takes minutes for it.
    _run("chroot", str(root), "python3", "-m", "compileall", "-q", "/opt/libraries")
    _run("chroot", str(root), "sh", "-c", "python3 -m compileall -q /usr/lib/python3.*")


def _packed(tree: Path) -> bytes:
    names = b"\0".join(os.fsencode(path.relative_to(tree)) for path in [tree, *sorted(tree.rglob("*"))])
    command = ["cpio", "--null", "-o", "-H", "newc", "--quiet", "-R", "0:0"]
    packed = subprocess.run(command, input=names, cwd=tree, capture_output=True, check=False, timeout=LIMIT_S)
    if packed.returncode:
        raise ImageFailed(f"cpio: {packed.stderr.decode(errors='replace')[-2000:]}")
    return gzip.compress(packed.stdout, compresslevel=1, mtime=0)


def _release() -> dict[str, str]:
    return platform.freedesktop_os_release()


def _kernel_package(meta: str) -> str:
    """The package that the distribution's kernel package stands for: the one with the files in it."""
    shown = _run("apt-cache", "depends", meta)
    for line in shown.splitlines():
        word, _, name = line.strip().partition(": ")
        if word == "Depends" and name.startswith("linux-image-"):
            return name
    raise ImageFailed(f"{meta} depends on no kernel:\n{shown}")


def _candidate(package: str) -> str:
    """The version that apt would install."""
    for line in _run("apt-cache", "policy", package).splitlines():
        word, _, version = line.strip().partition(": ")
        if word == "Candidate":
            return version
    raise ImageFailed(f"apt knows no package {package}: run apt-get update")


def _mirror() -> str:
    """Where this machine's own apt gets its packages."""
    shown = _run("apt-get", "indextargets", "--format", "$(REPO_URI) $(COMPONENT) $(RELEASE)")
    codename = _release()["VERSION_CODENAME"]
    for line in shown.splitlines():
        uri, component, release = line.split()[:3]
        if component == "main" and release == codename:
            return uri
    raise ImageFailed("apt has no source with this release's main packages: run apt-get update")


def _run(*words: str, cwd: Path | None = None) -> str:
    try:
        done = subprocess.run(
            words, cwd=cwd, check=False, text=True, errors="replace", timeout=LIMIT_S,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
    except subprocess.TimeoutExpired as expired:
        raise ImageFailed(f"{words[0]} took more than {LIMIT_S} s") from expired
    if done.returncode:
        raise ImageFailed(f"{' '.join(words)} failed:\n{done.stdout[-3000:]}")
    return done.stdout
