"""Reading the environment: what is meant is taken, what cannot be meant ends the start with a sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from config.env import BadSetting, Env, origins_of


def env(**source: str) -> Env:
    return Env(source)


class TestText:
    def test_taken_without_blanks(self) -> None:
        assert env(X=" a b ").text("X") == "a b"

    @pytest.mark.parametrize("source", [{}, {"X": ""}, {"X": "  "}])
    def test_nothing_is_the_default(self, source: dict[str, str]) -> None:
        assert Env(source).text("X", "else") == "else"

    def test_the_process_environment_unless_told_otherwise(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("FANLIGHT_TEST_WORD", "here")
        assert Env().text("FANLIGHT_TEST_WORD") == "here"


class TestFlag:
    @pytest.mark.parametrize("text", ["1", "true", "yes", "on", "YES", " On "])
    def test_yes(self, text: str) -> None:
        assert env(X=text).flag("X", default=False) is True

    @pytest.mark.parametrize("text", ["0", "false", "no", "off", "No"])
    def test_no(self, text: str) -> None:
        assert env(X=text).flag("X", default=True) is False

    @pytest.mark.parametrize("default", [True, False])
    def test_nothing(self, default: bool) -> None:
        assert env(X="").flag("X", default=default) is default

    @pytest.mark.parametrize("text", ["perhaps", "2", "ja", "y"])
    def test_neither(self, text: str) -> None:
        with pytest.raises(BadSetting) as bad:
            env(X=text).flag("X", default=False)
        assert str(bad.value) == f"X='{text}': expected yes or no."


class TestNumber:
    def test_taken(self) -> None:
        assert env(X="12").number("X", default=3) == 12
        assert env().number("X", default=3) == 3

    @pytest.mark.parametrize("text", ["soon", "1.5", "-1", "1e3", "", "²"])
    def test_what_is_none(self, text: str) -> None:
        if not text:
            assert env(X=text).number("X", default=3) == 3
            return
        with pytest.raises(BadSetting, match="a whole number of at least 0"):
            env(X=text).number("X", default=3)

    def test_too_small(self) -> None:
        assert env(X="2").number("X", default=3, least=2) == 2
        with pytest.raises(BadSetting, match="X='1': expected a whole number of at least 2"):
            env(X="1").number("X", default=3, least=2)


class TestNamesOfVariables:
    def test_a_list(self) -> None:
        assert env(X="a.example, b.example ,").names("X") == ["a.example", "b.example"]

    def test_nothing(self) -> None:
        assert env(X="").names("X", ("here",)) == ["here"]
        assert env().names("X") == []


class TestUrl:
    @pytest.mark.parametrize("url", ["", "redis://h", "rediss://u:p@h:6379/0"])
    def test_taken(self, url: str) -> None:
        assert env(X=url).url("X", schemes=("redis", "rediss")) == url

    @pytest.mark.parametrize("url", ["http://h", "redis", "h:6379", "redis://h:port/0", "redis://h:0", "redis://[h"])
    def test_what_is_none(self, url: str) -> None:
        with pytest.raises(BadSetting, match="a URL starting with redis:// or rediss://"):
            env(X=url).url("X", schemes=("redis", "rediss"))

    def test_a_password_is_not_repeated(self) -> None:
        with pytest.raises(BadSetting) as bad:
            env(X="mysql://me:p@ss:word@host/name").url("X", schemes=("postgres",))
        assert "ss:word" not in str(bad.value)
        assert "p@" not in str(bad.value)
        assert "host/name" in str(bad.value)


class TestChoiceAndPattern:
    def test_choice(self) -> None:
        assert env(X="b").choice("X", "a", ("a", "b")) == "b"
        assert env().choice("X", "a", ("a", "b")) == "a"
        with pytest.raises(BadSetting, match="X='c': expected one of a, b"):
            env(X="c").choice("X", "a", ("a", "b"))

    def test_pattern(self) -> None:
        assert env(X="5/min").matching("X", "1/s", r"\d+/(s|min)", "a rate") == "5/min"
        with pytest.raises(BadSetting, match="X='5/minutes': expected a rate"):
            env(X="5/minutes").matching("X", "1/s", r"\d+/(s|min)", "a rate")


class TestFolder:
    def test_it_is_made(self, tmp_path: Path) -> None:
        assert env(X=str(tmp_path / "a" / "b")).folder("X", tmp_path) == tmp_path / "a" / "b"
        assert (tmp_path / "a" / "b").is_dir()

    def test_one_that_cannot_be(self, tmp_path: Path) -> None:
        (tmp_path / "file").write_text("in the way")
        with pytest.raises(BadSetting, match="a folder that can be made"):
            env(X=str(tmp_path / "file" / "sub")).folder("X", tmp_path)


def test_it_ends_the_process_with_its_sentence() -> None:
    """``SystemExit`` with a text: the interpreter prints it and ends with 1, wherever the settings are read."""
    assert issubclass(BadSetting, SystemExit)
    assert BadSetting("X", "1", "yes or no").code == "X='1': expected yes or no."


class TestHosts:
    @pytest.mark.parametrize(
        "host", ["air.example", ".air.example", "*", "localhost", "192.0.2.7", "[::1]", "a-1.example"]
    )
    def test_a_host(self, host: str) -> None:
        assert Env({"H": f"{host}, other.example"}).hosts("H", ()) == [host, "other.example"]

    @pytest.mark.parametrize(
        "host",
        ["https://air.example", "air.example:8000", "air example", "-air.example", "air..example", "a" * 64, "/"],
    )
    def test_one_that_cannot_be(self, host: str) -> None:
        with pytest.raises(BadSetting, match="without scheme and port"):
            Env({"H": host}).hosts("H", ())

    def test_origins_behind_tls(self) -> None:
        assert origins_of(["air.example", ".air.example"]) == ["https://air.example", "https://*.air.example"]


class TestNetworks:
    def test_addresses_and_networks(self) -> None:
        found = Env({"N": "10.0.0.5, 172.16.0.0/12, ::1"}).networks("N")
        assert [str(each) for each in found] == ["10.0.0.5/32", "172.16.0.0/12", "::1/128"]

    @pytest.mark.parametrize("text", ["proxy", "10.0.0.0/33", "10.0.0"])
    def test_what_is_none(self, text: str) -> None:
        with pytest.raises(BadSetting, match="N="):
            Env({"N": text}).networks("N")
