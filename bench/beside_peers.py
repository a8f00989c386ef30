#!/usr/bin/python3
"""Our engines and the same sums by general-purpose libraries, one after the other in one run, and
the ratio of the two. Builds nothing of ours: give it the built bench_engines and the folder of the
peers (of the shared data; never a path of its own). A peer whose libraries are not there is left out
with a word. Ours run before the peers, between them and after them; nothing runs beside another
measurement, except where two processes are one measurement.

    bench/beside_peers.py --engines build/bench/bench/bench_engines --peers SHARED/peers \
        --out bench/results/two-core-x86-64/DATE-peers.csv
"""
import argparse, datetime, glob, json, os, resource, shutil, statistics, subprocess, sys, tempfile, time

OURS = [  # what bench_engines is asked for; the expensive ones stand once
    "^response_with_six_patches/2/", "^drag_in_", "^response_of_any_room/", "^images_to_order_20",
    "^thirty_surface_room/threads:2/notched:./rain:0/any_machine:0/receivers:1/", "^peer_",
    "^layout_roll_of_five_sizes/", "^stacks_fastest", "^multiply_adds",
    "^products_and_sums_apart", "^memory_stream"]
CUTTING = ["shop", "u120_0", "u250_0", "t120_0", "scholl3_0"]
CUTTING_LIMIT_S = 15


class Table:
    def __init__(self, path, head):
        self.path, self.rows, self.head = path, [], head

    def add(self, name, values, unit, ratio="", digits=4):
        """values: of several runs; the middle one counts."""
        values = [v for v in values if v is not None]
        if not values:
            return None
        middle = statistics.median(values)
        spread = "one run" if len(values) == 1 else (
            f"{min(values):.{digits}g} to {max(values):.{digits}g} over {len(values)} runs")
        self.rows.append((name, f"{middle:.{digits}g}", unit, spread, ratio))
        print(f"  {name}: {middle:.{digits}g} {unit} ({spread}) {ratio}", flush=True)
        return middle

    def write(self):
        if not self.path:
            return
        with open(self.path, "w", encoding="utf-8") as file:
            file.write(f"# {self.head}\nbenchmark,value,unit,spread,ratio\n")
            for row in self.rows:
                file.write(",".join(cell.replace(",", ";") for cell in row) + "\n")


def load():
    return os.getloadavg()[0]


def ours(args, runs):
    """One run of all of ours: by name, its JSON."""
    out = subprocess.run(
        [args.engines, "--benchmark_filter=" + "|".join(OURS), "--benchmark_format=json",
         f"--benchmark_min_time={args.min_time}"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, check=True).stdout
    runs.append({one["name"]: one for one in json.loads(out[out.index("{"):])["benchmarks"]
                 if not one.get("error_occurred")})
    print(f"ours, run {len(runs)}: load {load():.1f}", flush=True)


def of_ours(runs, name, field="real_time"):
    """That field of each run; name: how the benchmark's name begins."""
    out = []
    for run in runs:
        one = run.get(name) or next((found for key, found in run.items()
                                     if key.startswith(name + "/")), None)
        if one:
            out.append(one.get(field))
    return [value for value in out if value is not None]


def peer(folder, command, beside=1):
    """Lines of JSON of one peer, of `beside` processes at once; none where it does not run."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    running = [subprocess.Popen([part.replace("{part}", str(i)) for part in command], cwd=folder,
                                env=peer_environment(), stdout=subprocess.PIPE,
                                stderr=subprocess.PIPE, text=True) for i in range(beside)]
    lines, error = [], ""
    for one in running:
        out, err = one.communicate()
        error = err if one.returncode else error
        lines += [json.loads(line) for line in out.splitlines() if line.startswith("{")]
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    name = os.path.basename(folder)
    if error:
        print(f"{name}: left out ({error.strip().splitlines()[-1]})", flush=True)
        return []
    print(f"{name} {' '.join(command[2:4])}: {wall:.1f} s, {spent:.1f} s of the processor, load "
          f"{load():.1f}", flush=True)
    return lines


def peer_environment():
    """One thread for each process; complex finite elements; the BLAS that fits the processor."""
    out = dict(os.environ, OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1")
    complex_petsc = sorted(glob.glob("/usr/lib/petscdir/petsc3*/*-complex"))
    if complex_petsc:
        out["PETSC_DIR"] = complex_petsc[-1]
        out["PYTHONPATH"] = os.path.join(complex_petsc[-1], "lib/python3/dist-packages")
    fast = glob.glob("/usr/lib/*/openblas-pthread")
    if fast:
        out["LD_LIBRARY_PATH"] = fast[0]
    return out


def times(a, b):
    return f"{a / b:.3g} times" if a and b else ""


def python(script, *more):
    return ["/usr/bin/python3", script, *more]


# ---- the rooms ----------------------------------------------------------------------------------

def room_peers(args):
    folder = os.path.join(args.peers, "room_fem_p2")
    fem = ["--deg", "5", "--h", "0.6"]
    peer(folder, python("fem_room.py", *fem, "--freqs", "20"))  # its own compiler runs once
    return {
        "fem": peer(folder, python("fem_room.py", *fem, "--freqs", "60,151,220,263,280,290",
                                   "--part", "{part}", "--parts", "2"), beside=2),
        "surface": peer(os.path.join(args.peers, "room_surface"), python("surface.py"))}


def room_rows(table, runs, found):
    lines, surface = found["fem"], found["surface"]
    name = "box with six patches; 281 frequencies; 5 receivers; from scratch; two threads"
    mine = of_ours(runs, "response_with_six_patches/2")
    wall = statistics.median(mine) if mine else None
    fem_ms = None
    if lines:  # two processes share the band
        each = [one["solve_s_per_freq_median"] for one in lines]
        fem_ms = 1e3 * 281 / sum(1 / value for value in each)
        worst = max(one["max_err_dB"] for one in lines)
    table.add(name, mine, "ms", (times(fem_ms, wall) + " as fast as the finite elements")
              if fem_ms and wall else "")
    table.add(name + "; processor", of_ours(runs, "response_with_six_patches/2", "cpu_time"), "ms")
    if lines:
        spent = 281e3 * statistics.median(one["solve_cpu_s_per_freq_median"] for one in lines)
        mine_spent = of_ours(runs, "response_with_six_patches/2", "cpu_time")
        table.add("the same by finite elements; processor", [spent], "ms",
                  times(spent, statistics.median(mine_spent)) + " ours" if mine_spent else "")
    if fem_ms:
        table.add("the same by finite elements of fifth order (two processes; 6 frequencies run; "
                  f"times 281; {worst:.2g} dB at most)", [fem_ms], "ms")
    if surface:
        table.add("the same by a surface method in NumPy (71 frequencies run; times 281/71; "
                  f"{surface[0]['max_dB']:.2g} dB at most)",
                  [281e3 * one["s_per_freq"] for one in surface], "ms",
                  times(281e3 * surface[0]["s_per_freq"], wall) + " ours")
    for index, room in enumerate(["L-shaped room", "sloped room", "box with a volume trap"]):
        for field, what in (("real_time", ""), ("cpu_time", "; processor")):
            table.add(f"{room}; 281 frequencies; general solver from scratch; two threads{what}",
                      of_ours(runs, f"response_of_any_room/{index}", field), "ms")
    for key, room in (("box", "box"), ("an_l", "L-shaped room"), ("a_sloped_room", "sloped room")):
        key = "drag_in_" + (key if key != "box" else "a_box")
        for what, label in (("pick_up_all", "picked up"), ("first_p50", "first place on a surface; middle"),
                            ("first_most", "first place on a surface; longest"),
                            ("first_all", "first places on all surfaces together"),
                            ("place_p50", "place; middle"), ("place_p95", "place; 95 %"),
                            ("place_most", "place; longest")):
            for unit, more in (("_ms", ""), ("_cpu_ms", "; processor of both threads")):
                table.add(f"patch dragged in the {room}; {label}{more}",
                          of_ours(runs, key, what + unit), "ms")


# ---- rays, absorbers ----------------------------------------------------------------------------

def ray_peers(args):
    folder = os.path.join(args.peers, "rays")
    with tempfile.TemporaryDirectory() as place:
        program = os.path.join(place, "rt")
        built = shutil.which("g++") and subprocess.run(
            ["g++", "-O3", "-march=native", "-ffast-math", "-fopenmp",
             os.path.join(folder, "rt.cpp"), "-o", program, "-lembree3"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode == 0
        if not built:
            print("rays: the Embree peer is left out (its library or a compiler is not there)")
        return {"images": peer(folder, python("ism.py")),
                "embree": peer(folder, [program]) if built else []}


def ray_rows(table, runs, peers):
    images, found = peers["images"], peers["embree"]
    mine = of_ours(runs, "images_to_order_20")
    wall = statistics.median(mine) / 1e6 if mine else None  # from ns
    table.add("images to order 20 in a box; six bands; echogram",
              [value / 1e6 for value in mine], "ms",
              times(images[0]["ms"], wall) + " as fast" if images and wall else "")
    if images:
        table.add("the same in NumPy", [images[0]["ms"]], "ms")
    theirs = found[0]["Mbounce_per_s_med"] if found else None
    key = "thirty_surface_room/threads:2/notched:{}/rain:0/any_machine:0/receivers:1"
    for notched, room in ((1, "notched plan; as the peer's"), (0, "convex plan")):
        mine = [value / 1e6 for value in of_ours(runs, key.format(notched), "bounces")]
        table.add(f"rays: 30 surfaces; six bands; two threads; {room}", mine, "million bounces a second",
                  times(statistics.median(mine), theirs) + " as fast" if mine and theirs else "")
        spent = [value * wall / cpu for value, wall, cpu in
                 zip(mine, of_ours(runs, key.format(notched)),
                     of_ours(runs, key.format(notched), "cpu_time"))]
        a_second = found[0]["Mbounce_per_cpu_s"] if found else None
        table.add(f"rays: the same; a second of the processor; {room}", spent, "million bounces",
                  times(statistics.median(spent), a_second) + " as many" if spent and a_second else "")
    if found:
        table.add("the same through Embree (two threads)", [theirs], "million bounces a second")
        table.add("the same through Embree; a second of the processor",
                  [found[0]["Mbounce_per_cpu_s"]], "million bounces")


def absorber_rows(table, runs, peers):
    found = peers["tmm"]
    mine = of_ours(runs, "stacks_fastest", "stacks")
    theirs = found[0]["stacks_per_s_cpu"] if found else None
    table.add("stacks of three layers; 60 angles; 200 frequencies; one thread; a second of the processor", mine, "stacks",
              times(statistics.median(mine), theirs) + " as fast" if mine and theirs else "")
    if found:
        table.add("the same in NumPy", [theirs], "stacks")


# ---- the shop -----------------------------------------------------------------------------------

def shop_peers(args):
    folder = os.path.join(args.peers, "cutting_stock")
    out = {solver: peer(folder, python("arcflow.py", solver, str(CUTTING_LIMIT_S), *CUTTING))
           for solver in ("highs", "cbc")}
    out["strips"] = peer(os.path.join(args.peers, "strip_packing"), python("strip.py"))
    return out


def cutting_rows(table, runs, peers):
    found = {solver: peers[solver] for solver in ("highs", "cbc")}
    for case in CUTTING:
        mine = of_ours(runs, "peer_" + case)
        wall = statistics.median(mine) if mine else None
        proven = of_ours(runs, "peer_" + case, "proven")
        best = [one for lines in found.values() for one in lines if one["case"] == case]
        least = min((1e3 * one["wall_s"] for one in best), default=None)
        spent = of_ours(runs, "peer_" + case, "cpu_time")
        least_spent = min((1e3 * one["cpu_s"] for one in best), default=None)
        table.add(f"cutting {case}; to a proof" + ("" if all(proven) else "; NOT proven"), mine, "ms",
                  times(least, wall) + " as fast as the faster of the two" if least and wall else "")
        table.add(f"cutting {case}; processor", spent, "ms",
                  times(least_spent, statistics.median(spent)) + " as fast as the faster of the two"
                  if least_spent and spent else "")
        if case == "shop":
            table.add("cutting shop; with fewer set-ups sought too",
                      of_ours(runs, "peer_shop/with_setup"), "ms")
        for solver, lines in found.items():
            for one in lines:
                if one["case"] != case:
                    continue
                label = "" if one["status"] == "optimal" else f"; stopped at its limit with {one['obj']:g}" \
                    if one["obj"] is not None else "; stopped at its limit with nothing"
                table.add(f"cutting {case} by arc flow and {solver}{label}", [1e3 * one["wall_s"]], "ms",
                          times(1e3 * one["wall_s"], wall) + " ours")
                table.add(f"cutting {case} by arc flow and {solver}; processor",
                          [1e3 * one["cpu_s"]], "ms")


def strip_rows(table, runs, peers):
    found = peers["strips"]
    gaps, took, spent, exact_gaps = [], [], [], []
    for run in range(len(runs)):
        rolls = [runs[run].get(f"layout_roll_of_five_sizes/{i}") for i in range(5)]
        if not all(rolls):
            continue
        gaps.append(statistics.mean(one["gap_percent"] for one in rolls))
        took.append(statistics.mean(one["real_time"] for one in rolls))
        spent.append(statistics.mean(one["cpu_time"] for one in rolls))
        if len(found) == 5:  # against the greater of the two bounds
            exact_gaps.append(statistics.mean(
                100 * (one["length"] / max(one["bound"], theirs["dff_lb"]) - 1)
                for one, theirs in zip(rolls, found)))
    name = "40 pieces of five sizes on a roll; five instances"
    their_s = statistics.mean(min(one["stacked_s"], 1e9) for one in found) if found else None
    table.add(f"{name}; mean gap to our own bound", gaps, "%")
    table.add(f"{name}; mean gap to the greater of both bounds", exact_gaps, "%")
    table.add(f"{name}; mean time", took, "ms",
              times(1e3 * their_s, statistics.median(took)) + " as fast as the three-stage program"
              if their_s and took else "")
    table.add(f"{name}; mean time; processor", spent, "ms")
    if found:
        table.add(f"{name}; shelves; mean gap to the peer's bound",
                  [statistics.mean(one["ffdh_gap_pct"] for one in found)], "%")
        table.add(f"{name}; three-stage integer program; mean gap to the peer's bound",
                  [statistics.mean(one["stacked_gap_pct"] for one in found)], "%")
        table.add(f"{name}; three-stage integer program; mean time", [1e3 * their_s], "ms")


def limit_rows(table, runs):
    for name, label, unit in (("multiply_adds", "multiply-adds of one core; four doubles at a time", "Gflop a second"),
                              ("products_and_sums_apart",
                               "products and sums apart of one core; eight doubles at a time",
                               "Gflop a second"),
                              ("memory_stream", "memory of one core; read two; write one", "GB a second")):
        field = "flops" if name == "multiply_adds" else "bytes_per_second"
        table.add(label, [value / 1e9 for value in of_ours(runs, name, field) if value], unit)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--engines", required=True, help="the built bench_engines")
    parser.add_argument("--peers", required=True, help="the folder of the peers")
    parser.add_argument("--out", help="a CSV to write")
    parser.add_argument("--runs", type=int, default=3, help="of ours")
    parser.add_argument("--min-time", default="0.2", help="seconds for each short benchmark of ours")
    parser.add_argument("--note", default="", help="what else is to stand in the first line: build, commit")
    args = parser.parse_args()
    if not os.path.isdir(args.peers):
        sys.exit(f"{args.peers} is not there: give the folder of the peers")
    args.engines, args.peers = os.path.abspath(args.engines), os.path.abspath(args.peers)
    begun, runs, found = load(), [], {}
    ours(args, runs)
    found.update(room_peers(args))
    found.update(ray_peers(args))
    if args.runs > 2:
        ours(args, runs)
    found["tmm"] = peer(os.path.join(args.peers, "absorber_tmm"), python("tmm.py"))
    found.update(shop_peers(args))
    while len(runs) < args.runs:
        ours(args, runs)
    table = Table(args.out, f"bench/beside_peers.py on {datetime.date.today()}; {os.cpu_count()} x86-64 "
                  f"cores; load {begun:.1f} before; ours {len(runs)} times before; between and after "
                  f"the peers; the middle run counts; peers once. {args.note}".strip())
    room_rows(table, runs, found)
    ray_rows(table, runs, found)
    absorber_rows(table, runs, found)
    cutting_rows(table, runs, found)
    strip_rows(table, runs, found)
    limit_rows(table, runs)
    table.write()


if __name__ == "__main__":
    main()
