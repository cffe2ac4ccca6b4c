/** Today: what is going on, what is planned, what was closed. */

import type { JSX } from "preact";
import type { Unit, Visit } from "../../api/types.ts";
import { withSite, zoneOf } from "../../model/plate.ts";
import { useApp } from "../../parts/context.ts";
import { Link } from "../../parts/router.tsx";
import { Icon, Title } from "../../parts/small.tsx";
import { clockTime, day, isoDay, longDay } from "../../parts/when.ts";
import { t } from "../../text/en.ts";

function stateOf(visit: Visit): "planned" | "open" | "closed" {
  return visit.state ?? (visit.started_s ? "open" : "planned");
}

function VisitRow({ visit }: { visit: Visit }): JSX.Element {
  const app = useApp();
  const unit = app.record<Unit>("units", visit.unit_id);
  const site = app.sites.value.find((row) => row.id === unit?.site_id);
  const state = stateOf(visit);
  const zone = unit ? zoneOf(withSite(unit, site)) : undefined;
  const when = visit.started_s ? `${day(visit.started_s, zone)}, ${clockTime(visit.started_s, zone, false)}` : (visit.planned_on ?? "");
  const overdue = visit.instruments_overdue?.length ?? 0;
  return (
    <li>
      <Link to={`/visit/${visit.id}`} class="row-link">
        <span class="grow">
          <b>{unit?.name ?? t.notKnown}</b>
          <span class="soft small">
            {[site?.name, when, visit.technician, visit.purpose].filter(Boolean).join(" · ")}
          </span>
          {overdue > 0 && <span class="small st-doubtful"> · {t.today.overdue(overdue)}</span>}
          {!!visit.conflicts && <span class="small st-failed" data-testid="conflict-count"> · <Icon name="warn" /> {t.today.conflicts(visit.conflicts)}</span>}
        </span>
        <span class={`tag ${state}`}>{t.today.state[state]}</span>
        <Icon name="go" />
      </Link>
    </li>
  );
}

export function Today(): JSX.Element {
  const app = useApp();
  const now = app.clock.nowS();
  const visits = app.visits.value;
  const open = visits.filter((visit) => stateOf(visit) === "open");
  const planned = visits
    .filter((visit) => stateOf(visit) === "planned")
    .sort((a, b) => (a.planned_on ?? "9").localeCompare(b.planned_on ?? "9"));
  const closed = visits.filter((visit) => stateOf(visit) === "closed" && (visit.started_s ?? 0) > now - 14 * 86400);
  const today = isoDay(now);
  const due = planned.filter((visit) => (visit.planned_on ?? today) <= today);
  const ahead = planned.filter((visit) => !due.includes(visit));
  const lists: [string, Visit[]][] = [
    [t.today.open, open],
    [t.today.planned, [...due, ...ahead]],
    [t.today.closed, closed],
  ];
  return (
    <div class="page narrow">
      <div class="head">
        <div>
          <Title plain={t.today.title}>{t.today.title}</Title>
          <p class="soft">{longDay(now)}</p>
        </div>
      </div>
      <Link to="/start" class="button main big wide">
        <Icon name="plus" />
        {t.today.start}
      </Link>
      {!open.length && !planned.length && <p class="note">{t.today.nothing}</p>}
      {lists.map(
        ([title, rows]) =>
          rows.length > 0 && (
            <section key={title} class="sheet" aria-label={title}>
              <h2>{title}</h2>
              <ul class="rows">
                {rows.map((visit) => (
                  <VisitRow key={visit.id} visit={visit} />
                ))}
              </ul>
            </section>
          ),
      )}
    </div>
  );
}
