// Ten minutes become one mean, one minimum and one maximum. Runs five minutes after a window's end and looks back over six
// hours, so that what the hub sends late, after a break of the line, is counted too: the same points are written again with
// the same time, which changes nothing but what has become better known.
import "date"

option task = {name: "brinekeep-ten-minutes", every: 10m, offset: 5m}

// Whole windows only.
end = date.truncate(t: now(), unit: 10m)
start = date.sub(d: 6h, from: end)

readings =
    from(bucket: "brinekeep")
        |> range(start: start, stop: end)
        |> filter(fn: (r) => r._field == "value" and (r.flag == "pass" or r.flag == "suspect"))
        |> group(columns: ["_measurement", "_field", "hub", "system", "probe"])
        |> sort(columns: ["_time"])

readings
    |> aggregateWindow(every: 10m, fn: mean, createEmpty: false, timeSrc: "_start")
    |> set(key: "_field", value: "mean")
    |> to(bucket: "brinekeep-long", org: "fishroom")

readings
    |> aggregateWindow(every: 10m, fn: min, createEmpty: false, timeSrc: "_start")
    |> set(key: "_field", value: "min")
    |> to(bucket: "brinekeep-long", org: "fishroom")

readings
    |> aggregateWindow(every: 10m, fn: max, createEmpty: false, timeSrc: "_start")
    |> set(key: "_field", value: "max")
    |> to(bucket: "brinekeep-long", org: "fishroom")
