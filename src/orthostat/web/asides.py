"""What pages show that is worked out only when somebody looks: chapters, comparisons of designs, files."""

from __future__ import annotations

import time
from typing import Any

from orthostat.base.problems import Problem
from orthostat.presentation.cards import Card
from orthostat.web.asking import Answer, Ask, Design, Wanted
from orthostat.web.files import Files, Paper, Sent, digest, shown
from orthostat.web.jobs import Job, Jobs
from orthostat.web.lanes import Lane
from orthostat.web.rendering import blocks_html, render


class Asides:
    """Two workers of their own: one for chapters, one for what takes longer."""

    def __init__(self) -> None:
        self._lanes = (Lane(), Lane())
        # A chapter must not wait for two designs to be compared, nor for files.
        self._chapters, self._long = (Jobs(lane) for lane in self._lanes)
        self._files = Files(self._long)

    def close(self) -> None:
        """Stop all work and remove all files."""
        for jobs in (self._chapters, self._long):
            jobs.close()
        for lane in self._lanes:
            lane.close()
        self._files.close()

    def chapter(self, design: Design, slug: str, *, again: bool) -> dict[str, Any]:
        """A chapter, or how far the work on it is."""
        key = f"chapter {slug} of {design.name}"
        job = self._chapters.begin(key, (Ask("chapter", design, chapter=slug),), again=again)
        if job.status != "done":
            return _unfinished(job)
        answer = job.answers[0]
        if answer.problems:
            return {"html": render("problems.html", problems=answer.problems), "state": digest(design)}
        if answer.chapter is None:
            return {
                "html": render(
                    "problems.html", problems=(Problem("this chapter", "there is no such chapter"),)
                )
            }
        return {"html": blocks_html(answer.chapter.blocks, answer.system, slug), "state": digest(design)}

    def study(self, design: Design, wanted: Wanted, *, again: bool) -> dict[str, Any]:
        """What a study found, or how far the work on it is."""
        job = self._long.begin(_study_key(design), (_study(design, wanted),), again=again)
        if job.status != "done":
            return _unfinished(job)
        answer = job.answers[0]
        html = render("problems.html", problems=answer.problems)
        if answer.chapter is not None:
            html = blocks_html(answer.chapter.blocks, answer.system, "study")
        return {"html": html, "state": digest(design)}

    def designs(self, design: Design, wanted: Wanted) -> str | None:
        """Every design of a study as comma-separated values; `None` where it is not worked out."""
        job = self._long.job(_study_key(design))
        asked = job is not None and job.status == "done" and job.asks == (_study(design, wanted),)
        return job.answers[0].designs if job is not None and asked else None

    def moved(
        self,
        key: str,
        designs: tuple[Design, Design],
        names: tuple[str, str],
        subjects: tuple[str, ...],
        *,
        all_of_them: bool = False,
        again: bool = False,
    ) -> dict[str, Any]:
        """Findings of two designs side by side, those that differ or all; or how far the work is."""
        asks = tuple(Ask("findings", each, subjects=subjects) for each in designs)
        job = self._long.begin(key, asks, again=again)
        if job.status != "done":
            return _unfinished(job)
        problems = [problem for answer in job.answers for problem in answer.problems]
        if problems:
            return {"html": render("problems.html", problems=problems)}
        rows = _moved(*job.answers, all_of_them=all_of_them)
        return {"html": render("moved.html", rows=rows, names=names)}

    def stop(self, key: str) -> None:
        """Stop the work that a page waits for."""
        for jobs in (self._chapters, self._long):
            jobs.stop(key)

    # ---- files

    def make_files(self, design: Design, paper: Paper) -> None:
        """Begin to make the book and all files."""
        self._files.make(design, paper)

    def stop_files(self, name: str) -> None:
        """Stop making them."""
        self._files.stop(name)

    def files(self, design: Design, revision: str, seen: str) -> dict[str, Any]:
        """The files there are, or how far the work on them is; markup only where it is not what was seen."""
        job = self._files.job(design.name)
        told = shown(job, design, revision)
        sign = "-".join((told["status"], told["state"], str(0 if job is None else job.number)))
        made: dict[str, Any] = {"sign": sign, "busy": told["status"] in ("waiting", "running")}
        if job is not None and job.status == "running":
            made["running"] = news_of(job)
        if sign != seen:
            made["html"] = render("files.html", name=design.name, work=made.get("running"), **told)
        return made

    def file(self, design: Design, state: str, file: str, revision: str) -> Sent | None:
        """One file; raises `Changed` where the design is another by now."""
        return self._files.sent(design, state, file, f"{design.name}-{revision[:8]}-{file}")


def news_of(job: Job) -> dict[str, Any]:
    """What is being done, the share done, and the time it has taken."""
    return {
        "subject": job.key,
        "doing": "" if job.told is None else job.told.doing,
        "share": None if job.told is None else round(job.told.share, 3),
        "spent": f"{time.monotonic() - job.since:.0f} s",
    }


def _study_key(design: Design) -> str:
    return f"study of {design.name}"


def _study(design: Design, wanted: Wanted) -> Ask:
    return Ask("study", design, wanted=wanted)


def _unfinished(job: Job) -> dict[str, Any]:
    if job.status == "broken":
        said = job.broke.strip().splitlines()[-1]
        problem = Problem("this page", f"could not be made: {said}")
        return {"html": render("problems.html", problems=(problem,)), "job": job.key, "over": True}
    if job.status == "stopped":
        return {"job": job.key, "over": True}
    return {"job": job.key, "working": {**news_of(job), "waiting": job.status == "waiting"}}


def _moved(before: Answer, after: Answer, *, all_of_them: bool) -> list[dict[str, Any]]:
    old = {card.slug: card for found in before.found.values() for card in found}
    new = {card.slug: card for found in after.found.values() for card in found}
    rows = []
    for slug in dict.fromkeys([*new, *old]):
        a, b = old.get(slug), new.get(slug)
        same = _same(a, b)
        if all_of_them or not same:
            question = b.question if b is not None else a.question if a is not None else ""
            rows.append({"question": question, "slug": slug, "then": a, "now": b, "same": same})
    return rows


def _same(a: Card | None, b: Card | None) -> bool:
    return a is not None and b is not None and (a.verdict, a.value, a.limit) == (b.verdict, b.value, b.limit)
