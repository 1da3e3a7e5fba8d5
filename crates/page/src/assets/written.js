// A finished comparison: nothing is asked any more, the curves stay alive.
"use strict";

{
  const { track, told } = JSON.parse(document.getElementById("written-data").textContent);
  Plan.draw(track);
  Charts.track(track);
  Charts.onMove((station) => {
    Plan.cursor(station);
    const corner = track.corners.find((c) => c.entry_m <= station && station <= c.exit_m);
    document.getElementById("at").textContent = `station ${station.toFixed(0)} m, ${corner ? `corner ${corner.name}` : "no corner"}`;
  });
  Answer.show(told);
}
