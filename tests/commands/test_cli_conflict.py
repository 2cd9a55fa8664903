"""Answers that cannot all be right, on the command line: which they are, and the way out."""


def test_a_conflict_is_named_with_the_command_that_mends_it(run, bench_path, certain_lamp):
    folder = bench_path.parent / "classes"
    folder.mkdir()
    (folder / "lamp.toml").write_text(certain_lamp, encoding="utf-8")
    run("lot", "new", "shelf")
    run("lot", "add", "1 lamp")
    run("check", 1, "glow", "bad")
    run("case", 1, "opened")
    told = run("check", 1, "rock", "good").out
    way_out = next(line for line in told.splitlines() if "mend one:" in line)
    assert "Does it glow? no (bad)" in told
    assert "contradict each other" in run("why", 1).out
    assert "points" not in run("why", 1).out
    _, unit, entry = way_out.split("lotwright ")[1].split(" ANSWER")[0].split()
    assert run("correct", unit, entry, "c").code == 0
    assert "contradict" not in run("odds", 1).out
