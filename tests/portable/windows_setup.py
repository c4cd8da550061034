#!/usr/bin/env python3
"""The installer for Windows, under Wine: what it installs runs, a bundle's name leads to it, and it takes away what it
brought and no more.

    windows_setup.py --setup FILE

WINEPREFIX says where Windows is."""
import argparse
import os
import pathlib
import re
import subprocess
import tempfile

KEYS = (r"HKCU\Software\Classes\Glassine.bundle", r"HKCU\Software\Classes\.glassine", r"HKCU\Software\Glassine",
        r"HKCU\Software\Microsoft\Windows\CurrentVersion\App Paths\glassine.exe",
        r"HKCU\Software\Microsoft\Windows\CurrentVersion\Uninstall\Glassine")


def wine(*arguments, fails=False):
    """Runs it; what it says, in the code page of Wine's console."""
    ran = subprocess.run(["wine", *arguments], capture_output=True, encoding="cp437", timeout=600)
    assert (ran.returncode != 0) == fails, f"{arguments}: {ran.returncode}: {ran.stdout} {ran.stderr}"
    return ran.stdout.replace("\r", "")


def value(key, name=None):
    """A value of the registry; without a name that of the key."""
    said = wine("reg", "query", key, *(["/v", name] if name else ["/ve"]))
    return re.search(r"REG_\w+ +(.*)", said).group(1).strip()


def windows_name(path):
    return "Z:" + str(path).replace("/", "\\")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--setup", required=True)
    setup = str(pathlib.Path(parser.parse_args().setup).resolve())
    with tempfile.TemporaryDirectory() as base:
        # A folder with spaces and other letters, as a user's name may have. /D= stands last and takes no quotes, so
        # its words go as several arguments.
        folder = pathlib.Path(base) / "Wren Älderby" / "Glassine"
        for _ in range(2):  # the second time over the first
            wine(setup, "/S", *("/D=" + windows_name(folder)).split(" "))
        program = folder / "glassine.exe"
        assert sorted(path.name for path in folder.iterdir()) == ["glassine.exe", "licences", "uninstall.exe"], "other files"
        licences = {path.stem for path in (folder / "licences").iterdir()}
        assert {"glassine", "openssl", "libarchive", "libjpeg-turbo", "mingw-w64"} <= licences, licences
        version = wine(str(program), "--version").split()[1].rstrip(",")

        command = value(r"HKCU\Software\Classes\Glassine.bundle\shell\open\command")
        assert value(r"HKCU\Software\Classes\.glassine") == "Glassine.bundle"
        assert command == f'"{windows_name(program)}" "%1"', command
        assert value(KEYS[3]) == windows_name(program)
        assert value(KEYS[4], "DisplayVersion") == version, version
        assert value(KEYS[4], "QuietUninstallString") == f'"{windows_name(folder)}\\uninstall.exe" /S'

        # The shortcut's way to the program: a command line in which `glassine` is known.
        setting = f'set "PATH={windows_name(folder)};%PATH%"&'
        shortcut = next(pathlib.Path(os.environ["WINEPREFIX"]).rglob("Glassine command line.lnk"))
        assert f'/K "{setting} glassine help"'.encode("utf-16-le") in shortcut.read_bytes(), "the shortcut leads elsewhere"
        bundle = pathlib.Path(base) / "b.glassine"
        batch = pathlib.Path(base) / "try.cmd"
        batch.write_text(f'@{setting} glassine new "{windows_name(bundle)}" title=Kingfishers --by "Wren Alderby"\n',
                         encoding="cp437")
        said = wine("cmd", "/C", windows_name(batch))
        assert bundle.exists(), said

        # Somebody else's file in the folder stays, and so does another program's word on bundles.
        (folder / "mine.txt").write_text("a list\n")
        wine("reg", "add", KEYS[1], "/ve", "/d", "Another.kind", "/f")
        wine(str(folder / "uninstall.exe"), "/S", *("_?=" + windows_name(folder)).split(" "))
        left = sorted(path.name for path in folder.iterdir())
        assert left in (["mine.txt"], ["mine.txt", "uninstall.exe"]), left  # run from its own place it cannot delete itself
        assert value(KEYS[1]) == "Another.kind"
        wine("reg", "delete", KEYS[1], "/f")
        for key in KEYS:
            wine("reg", "query", key, fails=True)
        assert bundle.exists(), "a bundle was taken away"
    print("installed, run, removed")


if __name__ == "__main__":
    main()
