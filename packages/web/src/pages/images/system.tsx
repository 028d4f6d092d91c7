import type { SystemReport } from "@rouse/core/system";
import type { ReactNode } from "react";
import { VerdictShape } from "../../parts/verdict.tsx";
import { counted, hexOf } from "../../parts/words.ts";

const STATE = { ready: "runs", "not loaded": "unknown", damaged: "stops", missing: "stops" } as const;

/** What the system on the volume is made of, and what it asks for on the way to the login. */
export function System({ report }: { report: SystemReport | null }) {
  if (!report) return <p className="state">No system was looked for.</p>;
  const { modules, boot, asks, descriptors, accounts, scripts, programs } = report;
  if (modules.length + asks.length + programs.length + accounts.length + scripts.length === 0)
    return <p className="state">No programs, accounts or start-up lines of a known kind were found on this volume.</p>;
  return (
    <div className="system">
      {boot.file && (
        <p>
          <strong>Loaded at boot:</strong> <code>{boot.file}</code>
          {boot.how ? ` — ${boot.how}.` : ""}
          {boot.configuration &&
            ` Configured by ${boot.configuration.name}; memory up to ${hexOf(boot.configuration.topOfMemory)}.`}
        </p>
      )}
      {report.systemTracks && <p>System tracks: {report.systemTracks}</p>}
      {asks.length > 0 && (
        <Table title="Asked for on the way to the login" head={["Name", "As", "When", "State", "Asked for by"]}>
          {asks.map((each) => (
            <tr key={`${each.role} ${each.name}`}>
              <th scope="row">{each.name}</th>
              <td>{each.role}</td>
              <td>{each.when}</td>
              <td>
                <span className={`verdict is-${STATE[each.state]}`}>
                  <VerdictShape verdict={STATE[each.state]} />
                  {each.state}
                </span>
              </td>
              <td>{each.by.map(({ file, text }) => `${file}: ${text}`).join("; ")}</td>
            </tr>
          ))}
        </Table>
      )}
      {modules.length > 0 && (
        <Table title={counted(modules.length, "module")} head={["Name", "Type", "Size", "Edition", "Sums", "Where"]}>
          {modules.map((each) => (
            <tr key={`${each.path} ${each.offset}`}>
              <th scope="row">{each.name}</th>
              <td>
                {each.typeName}, {each.languageName}
              </td>
              <td className="is-number">{each.size.toLocaleString("en-GB")}</td>
              <td className="is-number">{each.edition ?? "–"}</td>
              <td>
                {each.faults.length === 0 ? (
                  <span className="verdict is-runs">
                    <VerdictShape verdict="runs" />
                    good
                  </span>
                ) : (
                  <span className="is-bad">{each.faults.map(({ sentence }) => sentence).join(" ")}</span>
                )}
              </td>
              <td>
                <code>
                  {each.path}, {hexOf(each.offset)}
                </code>
              </td>
            </tr>
          ))}
        </Table>
      )}
      {programs.length > 0 && (
        <Table title={counted(programs.length, "program")} head={["File", "Loads at", "Last address", "Known by"]}>
          {programs.map((each) => (
            <tr key={each.path}>
              <th scope="row">{each.path}</th>
              <td>{hexOf(each.loadAt)}</td>
              <td>{hexOf(each.last)}</td>
              <td>{each.how}</td>
            </tr>
          ))}
        </Table>
      )}
      {descriptors.length > 0 && (
        <Table
          title={counted(descriptors.length, "device descriptor")}
          head={["Device", "At", "Driver", "File manager", "Setting"]}
        >
          {descriptors.map((each) => (
            <tr key={`${each.path} ${each.offset}`}>
              <th scope="row">{each.name}</th>
              <td>{hexOf(each.address)}</td>
              <td>{each.driver ?? "–"}</td>
              <td>{each.fileManager ?? "–"}</td>
              <td>{setting(each.table)}</td>
            </tr>
          ))}
        </Table>
      )}
      {accounts.map(({ path, accounts: found }) => (
        <Table
          key={path}
          title={`Accounts in ${path}`}
          head={["Name", "Password", "User", "Priority", "Folders", "Starts"]}
        >
          {found.map((each) => (
            <tr key={each.line}>
              <th scope="row">{each.name || "(empty)"}</th>
              <td>{each.passwordSet ? "set, not shown" : "none"}</td>
              <td className="is-number">{each.user}</td>
              <td className="is-number">{each.priority}</td>
              <td>
                {each.commandFolder} {each.dataFolder}
              </td>
              <td>{each.program}</td>
            </tr>
          ))}
        </Table>
      ))}
      {scripts.map(({ path, lines }) => (
        <section key={path}>
          <h3>Start-up lines in {path}</h3>
          <ol className="script">
            {lines.map(({ line, text }) => (
              <li key={line} value={line}>
                <code>{text}</code>
              </li>
            ))}
          </ol>
        </section>
      ))}
    </div>
  );
}

function setting(table: SystemReport["descriptors"][number]["table"]): string {
  const said: (string | undefined)[] =
    table.kind === "terminal"
      ? [
          table.rate === undefined ? undefined : `${table.rate.toLocaleString("en-GB")} bit/s`,
          table.frame,
          table.rows === undefined ? undefined : `${table.rows} rows`,
          table.flowControl,
        ]
      : table.kind === "disk"
        ? [
            table.tracks === undefined ? undefined : counted(table.tracks, "track"),
            table.sides === undefined ? undefined : counted(table.sides, "side"),
            table.sectorsPerTrack === undefined ? undefined : `${table.sectorsPerTrack} sectors a track`,
          ]
        : [];
  return said.filter((each) => each !== undefined).join(", ") || table.kind;
}

/** A table that scrolls by itself where the page is narrow. */
function Table({ title, head, children }: { title: string; head: readonly string[]; children: ReactNode }) {
  return (
    <section>
      <h3>{title}</h3>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a wide table is scrolled by keys */}
      <section className="table-wrap" tabIndex={0} aria-label={title}>
        <table className="table">
          <thead>
            <tr>
              {head.map((each) => (
                <th key={each} scope="col">
                  {each}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>{children}</tbody>
        </table>
      </section>
    </section>
  );
}
