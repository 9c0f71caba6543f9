#include "formats.h"
#include "run.h"

#include "evenbore/session.h"

#include <stdio.h>
#include <string.h>

#define SESSION_WORDS "its id, the beginning of it, its number in evenbore sessions, or a path to the file"

static const char overview[] =
    "evenbore guides you while you even the airflow of an engine with one throttle for each cylinder.\n"
    "\n"
    "Examples:\n"
    "  evenbore practice                          try it on a simulated engine\n"
    "  evenbore tune v8-coupled                   begin a job\n"
    "  evenbore tune v8-coupled --engine \"red V8\" --gauge \"scale 1..30 step 0.5\"\n"
    "  evenbore tune ./my-manifold.lua            with a procedure of your own\n"
    "  evenbore tune --engine red-v8 --gauge bench\n"
    "                                             an engine and a gauge that you keep\n"
    "  evenbore resume                            go on with the latest job\n"
    "  evenbore show 1                            read what was measured and done\n"
    "\n"
    "Commands:\n"
    "  practice [PROCEDURE]  the same prompts, at a simulated engine\n"
    "  tune [PROCEDURE]  begin a job: a procedure's id, or a .lua file\n"
    "  resume [SESSION]  go on with a job; without SESSION the latest open one\n"
    "  sessions          list the jobs, newest first\n"
    "  show SESSION      the account of a job, every figure with its record\n"
    "  report SESSION    a page for the customer, or the figures as text, CSV, JSON\n"
    "  history ENGINE    all jobs of an engine: what drifts, how the gauge repeats\n"
    "  compare A B       two jobs side by side: do they differ by more than doubt?\n"
    "  procedures        list the procedures, built in and on your shelf\n"
    "  engines, gauges   list the engines and the gauges that you keep\n"
    "  engine NAME       show an engine, make one or change it: idle_rpm=870 ...\n"
    "  gauge NAME        the same for a gauge: scale=1..30 step=0.25 ...\n"
    "  habits            the units that you work in: temperature=F length=thou\n"
    "  shelf FOLDER      what lies on a stick or a share, and whether it is sound\n"
    "  add FILE          take in what came from another shop; remove ID takes it off\n"
    "  makers            whom procedures came from, and whom you trust\n"
    "  trust MAKER       trust one, by the fingerprint of the key; distrust MAKER\n"
    "  maker ...         your own keys, to sign what you give to others\n"
    "  rehearse PROCEDURE  try a procedure on simulated engines\n"
    "  new FILE          write a procedure of your own from rows and what joins them\n"
    "  check FILE...     look a procedure through for mistakes and for sense\n"
    "  manual api        all that a procedure can name\n"
    "  pack FILE         make a bundle of a procedure, sealed, for other shops\n"
    "  inspect BUNDLE    read a bundle before it is used: who made it, what it does\n"
    "  figure ...        work one figure out: units, amounts, air\n"
    "  complete bash     completion of names for bash\n"
    "  help [COMMAND]    this text, or more about one command\n"
    "\n"
    "Options, anywhere on the line (-- ends them):\n"
    "  --data DIR        keep sessions in DIR/sessions, and all else in DIR\n"
    "                    (else $XDG_DATA_HOME/evenbore or ~/.local/share/evenbore)\n"
    "  --engine NAME     an engine that you keep, or its file; words with a space\n"
    "                    between them are for the record alone\n"
    "  --fresh           start from nothing that is known of a kept engine\n"
    "  --tolerance 5%    how even it is to be\n"
    "  --risk 5%         how likely the claim may be wrong\n"
    "  --gauge NAME      a gauge that you keep, or its file; or in words:\n"
    "                    \"scale 1..30 step 0.25 best 1..10 repeat 2%\",\n"
    "                    also unit kg/h, vent 3; what you leave out stays\n"
    "  --habits WORDS    other units for this job: \"temperature=F length=thou\"\n"
    "  --lines           talk in JSON lines, for another program\n"
    "  --trust-file      run a procedure's file on a machine that cannot lock it in\n"
    "  --ascii           plain ASCII characters\n"
    "  --no-color        no bold and no colour (NO_COLOR does the same)\n"
    "  --help, --version\n";

/* A second text, since no compiler has to take one of more than 4095 characters. */
static const char overview_of_keys[] =
    "Keys at a prompt, as words or on a numeric keypad:\n"
    "  back   -   take the last answer back\n"
    "  note   +   write something down\n"
    "  why    *   why this is asked\n"
    "  chart  /   the last verdict, or the readings so far\n"
    "  pause  //  leave; Ctrl-C, Ctrl-D and a closed terminal do the same\n"
    "  stop   --  end the job for good\n"
    "  help   **  what can be typed here\n"
    "\n"
    "Exit status:\n"
    "  0  done (even, or ended with a claim), or paused\n"
    "  1  failed: stopped by you, a procedure's error, a session that is damaged,\n"
    "     over, held by another process, or cannot be written\n"
    "  2  the command line is wrong: an unknown command, option, procedure or session\n"
    "  10 to 28  refused, what came from another shop; the message has the word:\n"
    "     10 not-a-bundle, 11 form, 12 payload, 13 manifest, 14 purpose, 15 signer,\n"
    "     16 signature, 17 untrusted, 18 rollback, 19 revoked, 20 shadows,\n"
    "     21 look-alike, 22 other-maker, 23 version-taken, 24 handed-over,\n"
    "     25 stranger, 26 fingerprint, 27 key-open, 28 passphrase\n";

static const struct {
  eb_command command;
  const char *text;
} more[] = {
    {EB_COMMAND_TUNE,
     "evenbore tune [PROCEDURE] [options]\n"
     "\n"
     "  evenbore tune --engine red-v8 --gauge bench\n"
     "  evenbore tune v8-coupled --engine \"red V8\" --tolerance 4%\n"
     "  evenbore tune ./my-manifold.lua --gauge \"scale 0..50 step 1 best 5..40\"\n"
     "\n"
     "Begins a job on one engine. PROCEDURE is a procedure's id, built in or on your shelf (evenbore procedures lists "
     "them), or "
     "a path to a Lua file; without it it is the one that the engine's file names. Every answer is saved before the "
     "next question comes; leave at any time and go on "
     "with evenbore resume.\n"
     "\n"
     "Before a procedure from a maker whom you do not trust comes a caution that says so, with a code to be typed; one "
     "of "
     "a revoked key is refused.\n"
     "\n"
     "The procedure runs in a process of its own that can reach nothing of this machine. Where the kernel cannot do "
     "that (it says so), a file runs only with --trust-file, since then the language alone holds it.\n"
     "\n"
     "Options: --data, --engine, --fresh, --tolerance, --risk, --gauge, --habits, --lines, --trust-file, --ascii, "
     "--no-color. "
     "What is given "
     "here goes before the engine's file, and that before the procedure.\n"
     "\n"
     "On an engine that you keep, the job starts from what its adjusters answered in the last job that is over, and "
     "says "
     "so on the first screen; --fresh leaves that. Its readings come first all the same.\n"
     "\n"
     "At a prompt another unit can stand behind any number: 195 F, 3 thou, 0.05 mm. The record keeps what you typed.\n"
     "\n"
     "The words of --gauge, any of them:\n"
     "  scale LOW..HIGH   its two ends\n"
     "  step STEP         the smallest step that you can read\n"
     "  best LOW..HIGH    the band of best resolution\n"
     "  repeat PERCENT    how well one reading repeats\n"
     "  unit UNIT         div, kg/h, g/s or lb/h\n"
     "  vent WORDS        its vent setting, in your words\n"
     "What you leave out stays as the procedure has it, or usual.\n"},
    {EB_COMMAND_RESUME,
     "evenbore resume [SESSION] [--data DIR] [--lines] [--trust-file] [--ascii] [--no-color]\n"
     "\n"
     "  evenbore resume\n"
     "  evenbore resume 20261104-v8\n"
     "\n"
     "Goes on with a job that was left or cut off. Without SESSION it is the latest one that is open. SESSION "
     "is " SESSION_WORDS ". The job goes on with the procedure that it was begun with.\n"},
    {EB_COMMAND_SESSIONS,
     "evenbore sessions [--whole] [--data DIR] [--ascii] [--no-color]\n"
     "\n"
     "Lists the jobs, newest first: number, id, state, when they were begun and last changed, engine and procedure. "
     "States: open, held (open in another process), even, claimed, stopped, failed, damaged, newer (of a later "
     "version), "
     "unreadable (no session). Where there are so many that reading all would take long, only the beginning and the "
     "end "
     "of each is looked at, and the list says so; --whole reads all in any case, and finds damage in the middle "
     "too.\n"},
    {EB_COMMAND_SHOW,
     "evenbore show SESSION [--data DIR] [--ascii] [--no-color]\n"
     "\n"
     "  evenbore show 1\n"
     "  evenbore show ./from-another-shop.jsonl\n"
     "\n"
     "The account of a job, from its record alone: what was measured, decided and done, with the number of the record "
     "beside each line. It changes nothing and runs nothing, and reads sessions that are open, damaged or made "
     "elsewhere. SESSION is " SESSION_WORDS ". Exit status 1 where the record is damaged.\n"},
    {EB_COMMAND_REPORT,
     "evenbore report SESSION [-o FILE] [--as page|text|csv|json] [--semicolon] [--data DIR]\n"
     "\n"
     "  evenbore report 1 -o red-v8.html\n"
     "  evenbore report 1 --as csv --semicolon -o red-v8.csv\n"
     "\n"
     "Makes what is left of a job: a page for the customer (HTML in one file, nothing from outside, prints on A4 and "
     "Letter), or its figures as text, CSV or JSON. Without --as the ending of FILE decides: .html, .txt, .csv, .json; "
     "without both it is text. Without -o it goes to standard output. Every figure names its record. It runs nothing "
     "and changes nothing, and reports jobs that are open, stopped, damaged or made elsewhere as what they are. "
     "A FILE that is there already is not written over. --semicolon: CSV with semicolons and decimal commas. "
     "SESSION is " SESSION_WORDS ".\n"},
    {EB_COMMAND_HISTORY,
     "evenbore history ENGINE [-o FILE] [--as page|text|csv|json] [--semicolon] [--data DIR]\n"
     "\n"
     "  evenbore history red-v8\n"
     "  evenbore history red-v8 -o red-v8-history.html\n"
     "  evenbore history \"V8, red car\" --as csv\n"
     "\n"
     "All sessions of an engine side by side: deviation before and after, claim, how well the gauge repeated, every "
     "bore's course; and from the end of each job to the begin of the next, which adjuster changed by more than the "
     "doubt of the readings, and how much of what it had been moved by went back. ENGINE is one that you keep, or the "
     "words that --engine was given. Jobs that are not over are marked; damaged ones, practice, files that do not bear "
     "their session's name, and those that cannot be read are named and left out. Gauges may differ: deviations are "
     "relative. Forms and FILE are as for evenbore report.\n"},
    {EB_COMMAND_COMPARE,
     "evenbore compare A B [-o FILE] [--as page|text|csv|json] [--semicolon] [--data DIR]\n"
     "\n"
     "  evenbore compare 1 2\n"
     "  evenbore compare 2 ./from-another-shop.jsonl -o both.html\n"
     "\n"
     "Two sessions about the same bores, the earlier first: what each found and left, and whether the engine changed "
     "by "
     "more than the doubt of the readings between them, and from end to end: bore by bore (Student's t, the risk "
     "shared "
     "among the bores), and all together (F over the deviations with their covariance). Sessions about other bores, or "
     "without a verdict at idle, are refused with the reason. A and B are each " SESSION_WORDS
     ". Forms and FILE are as for evenbore report.\n"},
    {EB_COMMAND_COMPLETE,
     "evenbore complete bash\n"
     "\n"
     "  eval \"$(evenbore complete bash)\"     in ~/.bashrc\n"
     "\n"
     "Prints what bash needs to complete commands, options, sessions, engines, gauges and procedures. It "
     "asks the program, as evenbore complete words WORD...; nothing is kept anywhere.\n"},
    {EB_COMMAND_PROCEDURES,
     "evenbore procedures [--data DIR] [--ascii] [--no-color]\n"
     "\n"
     "Lists the procedures that are built in, each with the id that evenbore tune takes, then those on your shelf: id "
     "and "
     "version, title, maker and whether you trust that key, revision, and the beginning of the bundle's digest. ID "
     "alone "
     "means the highest revision, ID@VERSION that one. Exit status 1 where a file on the shelf cannot be used.\n"},
    {EB_COMMAND_SHELF,
     "evenbore shelf FOLDER [--data DIR] [--ascii] [--no-color]\n"
     "\n"
     "  evenbore shelf /media/stick\n"
     "\n"
     "Looks through what ends in .evenbore in a folder on a stick or a share: bundles, cards, handovers and "
     "revocations. "
     "Each is verified by itself and told with its maker, or refused with the reason; nothing is changed or run. Links "
     "are "
     "not followed, pipes and devices not opened. At most 1000 files, bundles of 1 MiB, statements of 4 KiB, names of "
     "120 "
     "bytes. evenbore add takes in what you want of it. Exit status 1 where something was refused.\n"},
    {EB_COMMAND_ADD,
     "evenbore add FILE [--data DIR]\n"
     "\n"
     "  evenbore add /media/stick/w-nine-3.evenbore\n"
     "\n"
     "Takes in what came from another shop. A bundle is put on the shelf, DIR/shelf: its procedure then goes by its id "
     "in "
     "tune, practice, rehearse and check. A card makes a maker known, a handover passes what trust the old key has on "
     "to "
     "the new one, a revocation ends a key. None of them is trusted by that.\n"
     "\n"
     "A bundle is refused that has the id of a built-in procedure (shadows), one that looks like another id "
     "(look-alike) or another maker's (other-maker), a revision below the highest that was seen of it, even where that "
     "was removed (rollback), or other content for the same version or revision (version-taken); one of a key that is "
     "revoked, or that has handed over (handed-over). Each has an exit status of its own (evenbore --help). At most "
     "200 "
     "bundles stand on a shelf.\n"},
    {EB_COMMAND_REMOVE, "evenbore remove ID[@VERSION] [--data DIR]\n"
                        "\n"
                        "  evenbore remove w-nine@1.0.0\n"
                        "\n"
                        "Takes a procedure off the shelf. Jobs that were begun with it go on: each has the whole "
                        "procedure in its record. The "
                        "highest revision stays known.\n"},
    {EB_COMMAND_MAKERS, "evenbore makers [--data DIR] [--ascii] [--no-color]\n"
                        "\n"
                        "Lists the makers that you met, each key with its fingerprint and how it stands here: trusted "
                        "since when, by a handover, not trusted, or revoked and why.\n"},
    {EB_COMMAND_TRUST, "evenbore trust MAKER [--data DIR]\n"
                       "\n"
                       "  evenbore trust \"Bench Nine\"\n"
                       "\n"
                       "Trusts the key of a maker that is known here. MAKER is the name, or, where several keys have "
                       "that name, the first "
                       "group of five digits of the fingerprint. The whole fingerprint is asked for, 40 digits, as you "
                       "have it from the maker "
                       "by telephone or on paper; yes does not do. Each group of five checks itself, so that a slip is "
                       "told at its group. A "
                       "program gives it as one line of standard input.\n"
                       "\n"
                       "Until then practice, rehearse and check take the procedures of that key, and tune asks before "
                       "each job: a caution "
                       "with a code, which stands in the record.\n"},
    {EB_COMMAND_DISTRUST, "evenbore distrust MAKER [--data DIR]\n"
                          "\n"
                          "Takes trust back, also what came by a handover. MAKER as for evenbore trust.\n"},
    {EB_COMMAND_MAKER,
     "evenbore maker [make|seal|card|handover|revoke ...] [-o FILE] [--data DIR]\n"
     "\n"
     "  evenbore maker                              your keys and their fingerprints\n"
     "  evenbore maker make nine \"Bench Nine\"      make one, called nine here\n"
     "  evenbore maker seal nine                    another passphrase, or none\n"
     "  evenbore maker card nine -o nine.evenbore   what others get to know you by\n"
     "  evenbore maker handover nine ten -o handover.evenbore\n"
     "  evenbore maker revoke nine stolen \"from the van\" --by ten -o revocation.evenbore\n"
     "\n"
     "A key is DIR/keys/KEY.json; nobody but you may read it, or it is refused (key-open). A passphrase is typed twice "
     "and "
     "not shown, Enter alone means none; it is stretched by Argon2id over 256 MiB in 3 passes. A card, a handover and "
     "a "
     "revocation are texts that others take in with evenbore add.\n"
     "\n"
     "A handover is signed by the old key and the new one. Who trusts the old one trusts the new one by it, and takes "
     "nothing new of the old one. A revocation, lost, stolen or retired, is signed by the key itself or by one that it "
     "has "
     "handed over to. A key that revokes itself passes no trust on any more, since a thief could have signed its "
     "handover; "
     "to keep the trust that the new key got, revoke the old one --by the new one. Make a revocation of a key while "
     "you "
     "have it, and keep it on paper: where the key is lost, that is all that ends it. KEY in revoke can be a card's "
     "file "
     "where the key is gone.\n"
     "\n"
     "  --passphrase-file FILE   its first line (/dev/fd/3 for a file descriptor)\n"
     "  --no-passphrase          make: none, without asking\n"
     "  --by KEY                 revoke: the key that signs\n"
     "  -o FILE                  else standard output; nothing is written over\n"},
    {EB_COMMAND_ENGINES, "evenbore engines [--data DIR] [--ascii] [--no-color]\n"
                         "\n"
                         "Lists the engines that you keep, in DIR/engines, one file each.\n"},
    {EB_COMMAND_ENGINE,
     "evenbore engine NAME [KEY=VALUE...] [--data DIR] [--ascii] [--no-color]\n"
     "\n"
     "  evenbore engine red-v8 name=\"Red V8\" procedure=v8-coupled idle_rpm=870 bore_mm=48\n"
     "  evenbore engine red-v8 bore_mm=1.89in bores.7=\"shaft seal renewed\" risk=\n"
     "  evenbore engine ./from-another-shop.json\n"
     "\n"
     "Shows and checks an engine that you keep; with values makes it, or changes it. An empty value takes one out. "
     "NAME "
     "is small letters, digits and hyphens, or a path to a file that ends in .json. evenbore tune --engine NAME takes "
     "all of it into the job and asks for none of it. The file is JSON and may be written by hand:\n"
     "  {\"format\": \"evenbore-engine\", \"version\": 1, \"name\": \"Red V8\", \"throttle\": {\"bore_mm\": 48}}\n"
     "\n"
     "Keys. A name with a point is a key inside of another, and its last part is enough here:\n"},
    {EB_COMMAND_GAUGES, "evenbore gauges [--data DIR] [--ascii] [--no-color]\n"
                        "\n"
                        "Lists the gauges that you keep, in DIR/gauges, one file each.\n"},
    {EB_COMMAND_GAUGE,
     "evenbore gauge NAME [KEY=VALUE...] [--data DIR] [--ascii] [--no-color]\n"
     "\n"
     "  evenbore gauge bench scale=1..30 step=0.25 best=1..10 repeatability=2%\n"
     "  evenbore gauge bench vent=\"two turns out\" learned=\n"
     "\n"
     "Shows and checks a gauge that you keep; with values makes it, or changes it. An empty value takes one out. NAME "
     "is "
     "small letters, digits and hyphens, or a path to a file that ends in .json. At the end of a job with evenbore "
     "tune "
     "--gauge NAME the gauge learns how well it repeats from that job's own repeats, once a job, and the next job "
     "begins "
     "with that: with the weight of their number, up to 30 degrees of freedom, so that a gauge that gets worse is "
     "noticed. learned= forgets it. The file is JSON and may be written by hand:\n"
     "  {\"format\": \"evenbore-gauge\", \"version\": 1, \"name\": \"Bench\", \"scale\": [1, 30], \"step\": 0.25}\n"
     "\n"
     "Keys:\n"},
    {EB_COMMAND_HABITS, "evenbore habits [QUANTITY=UNIT...] [--data DIR] [--ascii] [--no-color]\n"
                        "\n"
                        "  evenbore habits temperature=F length=thou pressure=inHg\n"
                        "  evenbore habits length=\n"
                        "\n"
                        "The units that numbers are shown and asked for in, kept in DIR/habits.json; an empty one ends "
                        "a habit. A job keeps "
                        "those that it began with, wherever it goes on. Lengths from an inch on are told in inches "
                        "where the habit is thou, "
                        "and a gauge keeps its own unit. evenbore tune --habits \"length=mm\" is for one job, a unit "
                        "behind a number for one "
                        "answer. A feeler gap and an edge travel are both lengths and never the same one.\n"
                        "\n"
                        "Quantities:\n"},
    {EB_COMMAND_REHEARSE,
     "evenbore rehearse PROCEDURE [options]\n"
     "\n"
     "  evenbore rehearse ./my-manifold.lua\n"
     "  evenbore rehearse v8-coupled --engines 1000 --faults all --require even=80,wrong=5\n"
     "  evenbore rehearse v8-coupled --engines 1 --seed 17 --show\n"
     "\n"
     "Plays a whole job on each of many simulated engines: the same prompts, record and decisions as a live one, only "
     "engine, gauge, hands and clock are simulated. Nothing is kept. It tells how many end even, which claims do not "
     "hold, what a job costs, what goes wrong and where, and the command that plays the worst engines again. Ctrl-C "
     "stops it there, with what there is so far; a second one at once.\n"
     "\n"
     "  --engines N       how many (200)\n"
     "  --seed S          the first engine; the next ones follow (1)\n"
     "  --faults WHICH    none; all: an engine has one of them; each: every one by\n"
     "                    itself, as a table; or one by name: leak, dead, weak, lean,\n"
     "                    stick, loose-coupler, lash, wander, warming, band, vent,\n"
     "                    swap\n"
     "  --gauge GAUGE, --tolerance 5%, --risk 5%, --trust-file   as for tune\n"
     "  --require BARS    exit status 1 where one is missed, per cent: even=95 at\n"
     "                    least; wrong=5, stuck=0, failed=0 at most\n"
     "  --show            with --engines 1: the whole conversation\n"
     "  --json            the result as one JSON object\n"
     "  --quiet           no word of how far it is\n"
     "  --jobs J          processes (all processors); any number gives the same\n"},
    {EB_COMMAND_PRACTICE,
     "evenbore practice [PROCEDURE] [options]\n"
     "\n"
     "  evenbore practice\n"
     "  evenbore practice inline-six --fault any\n"
     "  evenbore practice --watch --seed 17\n"
     "\n"
     "A whole job at the prompts of tune, without an engine: a simulated one stands behind them. Without PROCEDURE it "
     "is v8-coupled. At a reading the gauge's needle is drawn, and you read it and type what you read, as you type "
     "what a "
     "thermometer or a rev counter shows. A move is typed as for tune, or by feel (hair, little, more, much; other "
     "hair: the other way; nothing), and the metal answers as metal does: by more or less than was wished. A check "
     "that "
     "finds something is answered 0, and set right. Waits pass at once. At the end the truth stands beside what was "
     "concluded. Nothing is kept, unless --keep asks for it.\n"
     "\n"
     "  --seed S          the engine (else another one each time; the number is shown)\n"
     "  --fault NAME      what no adjuster sets right: leak, dead, weak, lean, stick,\n"
     "                    loose-coupler, lash, wander, warming, band, vent; several\n"
     "                    with commas, or by giving it again; any draws one and does\n"
     "                    not tell; swap is the simulated tuner's, with --watch\n"
     "  --watch           the program's own tuner does it all, to be followed\n"
     "  --fast            with --watch: without waits\n"
     "  --keep FILE       the record, also of one that was left; show and report read\n"
     "                    it, marked as practice, and it teaches no gauge\n"
     "  --gauge, --tolerance, --risk, --habits, --trust-file   as for tune\n"
     "\n"
     "Ctrl-C, Ctrl-D, pause and the end of input end it at once, with the truth so far; it cannot be taken up again. "
     "Exit status: 0 at the end or "
     "where it was left, 1 where it was stopped or failed.\n"},
    {EB_COMMAND_NEW,
     "evenbore new FILE [--rows ROWS] [--parts PARTS] [--numbering SCHEME] [--title TEXT]\n"
     "\n"
     "  evenbore new my-v8.lua --rows \"left 1 3 5 7 / right 2 4 6 8\" "
     "--parts \"link left | right; coupler 1 3 | 5 7; coupler 2 4 | 6 8; plate each\"\n"
     "  evenbore new my-four.lua --rows \"4\" --numbering front-to-rear --parts \"screw 1 2 | 3 4; screw 1 | 2; screw "
     "3 | "
     "4\"\n"
     "  evenbore new my-v8.lua     asks for what is not given\n"
     "\n"
     "Writes a procedure with comments that can be rehearsed at once, and beside it, where they are not there yet, "
     "evenbore-api.lua and .luarc.json, from which an editor with a Lua language server knows every call. A file that "
     "is "
     "there is never written over.\n"
     "\n"
     "ROWS are bores front to rear, rows between /, each with a name in front if you like. Or how many, 4 or 4 + 4, "
     "and "
     "--numbering says how they are numbered: odd-left, odd-right, left-first, right-first, front-to-rear, "
     "rear-to-front.\n"
     "\n"
     "PARTS stand between semicolons: a kind, the bores that it raises, |, the bores that it lowers. Kinds are link, "
     "coupler, screw, bleed, plate; any other word is a kind of your own. A row's name stands for its bores; each, for "
     "one such part for every bore. Without | it moves its bores alone.\n"},
    {EB_COMMAND_CHECK,
     "evenbore check FILE... [--strict] [--json] [--budget] [--trust-file]\n"
     "\n"
     "  evenbore check my-manifold.lua\n"
     "  evenbore check *.lua --strict\n"
     "\n"
     "Reads each procedure, draws its layout as it was understood, rehearses it on some simulated engines with every "
     "value of its options, and tells what is wrong, with file, line and remedy; then what makes no sense: bores that "
     "nothing corrects, adjusters that do the same, prompts that never come, texts too long for a glance, letters that "
     "look like others. A built-in procedure's id stands for its file.\n"
     "\n"
     "  --strict   exit status 1 on warnings too\n"
     "  --budget   how much of what a procedure may use up was used\n"
     "  --json     the findings as one JSON object\n"},
    {EB_COMMAND_MANUAL, "evenbore manual api [NAME] [--as text|lua|luacheck]\n"
                        "\n"
                        "  evenbore manual api\n"
                        "  evenbore manual api confirm\n"
                        "  evenbore manual api --as lua > evenbore-api.lua\n"
                        "\n"
                        "All that a procedure's file can name, or one call or table of it: fields, types, units, what "
                        "is usual. --as lua is "
                        "the same for an editor's Lua language server, --as luacheck for luacheck's .luacheckrc.\n"},
    {EB_COMMAND_PACK,
     "evenbore pack FILE [--maker KEY] [--licence WORDS] [options]\n"
     "\n"
     "  evenbore pack w-nine.lua --licence CC0-1.0\n"
     "  evenbore pack w-nine.lua --licence \"for our customers\" --engines 1000 --faults all\n"
     "\n"
     "Makes a bundle of a procedure and its own library files: one text file that can go by mail or on a stick, sealed "
     "with your key, so that another shop can tell who made it and that nobody changed it. What evenbore check finds "
     "wrong is not packed. The procedure is rehearsed, and the figures go with it. So do the hazards that it adds, its "
     "layouts, and the instruments that it asks for. The same input gives the same bytes.\n"
     "\n"
     "  --maker KEY        which of your keys (the only one there is); evenbore maker\n"
     "                     makes one\n"
     "  --licence WORDS    what others may do with it; asked for at a terminal\n"
     "  --revision N       counts up; else one more than the highest that lies in the\n"
     "                     folder. No shop goes back to a lower one\n"
     "  --instruments \"depth gauge; mirror\"   what the job needs besides\n"
     "  -o FILE            else ID-REVISION.evenbore; nothing is written over\n"
     "  --engines N, --seed S, --faults WHICH, --jobs J, --quiet   as for rehearse\n"
     "  --no-rehearsal     without figures\n"
     "  --strict           not with warnings of evenbore check either\n"
     "  --passphrase-file FILE   the key's passphrase, its first line\n"
     "\n"
     "A bundle holds 1 MiB and 64 files at most, of 64 KiB and 4096 lines each.\n"},
    {EB_COMMAND_INSPECT,
     "evenbore inspect BUNDLE [options]\n"
     "\n"
     "  evenbore inspect w-nine-3.evenbore\n"
     "  evenbore inspect w-nine-3.evenbore --against w-nine-2.evenbore\n"
     "  evenbore inspect w-nine@1.1.0 --source\n"
     "  evenbore inspect w-nine-3.evenbore --take-apart w-nine-parts\n"
     "\n"
     "Reads a bundle and runs nothing of it: the maker with the fingerprint of the key, whether it is whole, what it "
     "needs and warns of, its layouts, what it asks people to do, and the figures that its maker claims. Then what "
     "changed against the version on your shelf: cautions that are gone (!), what it asks, says and moves now (+), no "
     "more (-) or otherwise (~), and the text line by line. What it asks is read from its text; what it puts together "
     "while it runs is in the text alone. BUNDLE is a file, or the id of a procedure on your shelf, with @VERSION "
     "where "
     "there are several.\n"
     "\n"
     "  --against BUNDLE   another one to compare with\n"
     "  --source           its files, line by line\n"
     "  --rehearse         run it on simulated engines, contained, and put the figures\n"
     "                     beside those that are claimed; --engines, --seed, --faults,\n"
     "                     --jobs, --quiet, --trust-file as for rehearse\n"
     "  --take-apart FOLDER   write what other programs need to check it; in FOLDER:\n"
     "                     openssl pkeyutl -verify -pubin -inkey maker.pem -rawin \\\n"
     "                       -in signed -sigfile signature\n"
     "                     sha256sum -c SHA256SUMS\n"
     "\n"
     "A bundle that is damaged or was tampered with is refused with one line; each reason has an exit status of its "
     "own "
     "(evenbore --help).\n"},
    {EB_COMMAND_FIGURE, "evenbore figure ...\n"
                        "\n"
                        "Works one figure out without a job. evenbore figure alone lists what it knows.\n"},
    {EB_COMMAND_HELP, "evenbore help [COMMAND]\n"
                      "\n"
                      "More about one command; without one, what there is.\n"},
    {EB_COMMAND_VERSION, "evenbore version\n"
                         "\n"
                         "The program's version and those of the line protocol and of the procedures it takes.\n"},
};

static const char *text_of(const char *word)
{
  for (size_t i = 0; i < sizeof more / sizeof more[0]; i++)
    if (strcmp(word, eb_command_word(more[i].command)) == 0)
      return more[i].text;
  return NULL;
}

static int unknown_command(const eb_run *run)
{
  const char *words[EB_COMMANDS];
  eb_error error;
  for (int i = 0; i < EB_COMMANDS; i++)
    words[i] = eb_command_word((eb_command)i);
  const char *near = eb_nearest(run->options.argument, words, EB_COMMANDS);
  eb_fail(&error, EB_NOT_FOUND, run->options.argument, "no such command; %s%s",
          near == NULL ? "evenbore --help lists them" : "the nearest is ", near == NULL ? "" : near);
  eb_run_complain(run, &error);
  return EB_EXIT_USAGE;
}

/* What a file may hold goes by the table that checks it. */
static void say_keys(eb_page *page, const char *word)
{
  static const struct {
    eb_command command;
    const eb_format *format;
  } kept[] = {{EB_COMMAND_ENGINE, &eb_format_engine},
              {EB_COMMAND_GAUGE, &eb_format_gauge},
              {EB_COMMAND_HABITS, &eb_format_habits}};
  for (size_t i = 0; word != NULL && i < sizeof kept / sizeof kept[0]; i++)
    if (strcmp(word, eb_command_word(kept[i].command)) == 0)
      eb_fields_help(page, kept[i].format);
}

/* A usage line, a command or an option that is too wide for the screen goes on under itself; prose does not. */
static void say_lines(const eb_run *run, eb_page *page, const char *text)
{
  eb_text line;
  eb_text_init(&line, run->host);
  for (size_t size = 0; *text != '\0'; text += size + (text[size] == '\n')) {
    size = strcspn(text, "\n");
    eb_text_reset(&line);
    eb_text_add_bytes(&line, text, size);
    bool usage = strncmp(text, "evenbore ", strlen("evenbore ")) == 0 && memchr(text, '[', size) != NULL;
    eb_page_paragraph(page, EB_PLAIN, "", usage || text[0] == ' ' ? "      " : "", eb_text_string(&line));
  }
  page->text.failed = page->text.failed || line.failed;
  eb_text_clear(&line);
}

int eb_run_help(const eb_run *run)
{
  const char *text = run->options.argument == NULL ? overview : text_of(run->options.argument);
  if (text == NULL)
    return unknown_command(run);
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  say_lines(run, &page, text);
  if (text == overview) {
    eb_page_blank(&page);
    say_lines(run, &page, overview_of_keys);
  }
  say_keys(&page, run->options.argument);
  return eb_run_print(run, &page);
}

int eb_run_version(const eb_run *run)
{
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_page_sayf(&page, "evenbore %s (line protocol %d, procedures up to api %d)", EB_VERSION, EB_PROTOCOL, EB_API_LEVEL);
  return eb_run_print(run, &page);
}
