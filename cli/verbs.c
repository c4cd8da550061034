#include "verbs.h"

#include <string.h>

#include "line.h"
#include "nearest.h"
#include "refuse.h"

#define SPEAKS (CLI_BIT(CLI_BY) | CLI_BIT(CLI_VIA) | CLI_BIT(CLI_UNSIGNED))
#define SAVES (SPEAKS | CLI_BIT(CLI_NOTE))
#define SAYS (SAVES | CLI_BIT(CLI_WHY) | CLI_BIT(CLI_REACH))
#define MANY 100000

static const cli_verb VERBS[] = {
    {"new", CLI_WRITING, CLI_ALONE, .bundle = true, .leaves = true, .fields = true,
     .options = CLI_BIT(CLI_BY) | CLI_BIT(CLI_UNSIGNED) | CLI_BIT(CLI_PLATES_FROM), .run = cli_new,
     .usage = "FILE title=TITLE --by NAME [--plates-from KIT]", .summary = "make a bundle",
     .help =
         "Makes the file FILE, which must not exist, with the record of the collection and its keeper, "
         "NAME, as "
         "the first contributor. Every command names its bundle first. --plates-from begins with the designs, "
         "plates, states and marks of another bundle, a study group's for instance, as its people entered them.",
     .example = "new sorrel.glassine title='Sorrel Islands' --by 'Ann Keeper'"},
    {"gather", CLI_WRITING, CLI_WRITES, .bundle = true, .least = 1, .most = 1, .options = SAVES, .files = 1,
     .run = cli_gather, .usage = "FILE FOLDER", .summary = "make items with scans of a folder of images",
     .help =
         "The name of an image up to its first space or underscore is the item's label, the rest is the "
         "caption: "
         "'H-014 back detail.jpg' belongs to H-014; the first word of a caption that is front, back or detail says the side. An item that is there gets the new scan; a new one also "
         "gets one stamp. An image whose bytes are in the bundle already is passed over, so a folder may be "
         "gathered again.\n"
         "Hidden files, folders in the folder and files that are no images are skipped and named. An image "
         "that "
         "is broken, or that carries the place where it was made, is taken in with a warning.",
     .example = "gather sorrel.glassine scans/"},
    {"enter", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 1, .most = 1, .options = SAYS,
     .run = cli_enter, .usage = "FILE TYPE name=value …", .summary = "enter a record; prints its id",
     .help =
         "`glassine help types` lists the types, `glassine help item` the fields of one.\n"
         "An item gets one stamp, unless stamps=4, stamps=2x3 (2 rows of 3, each stamp with its row and "
         "column) "
         "or stamps=0 says otherwise. Fields that only stamps have (design=, colour=, letters= …) go to the "
         "stamps.",
     .example = "enter sorrel.glassine design label=KF title=Kingfisher denomination=Twopence issued=1861\n"
                "enter sorrel.glassine plate label=1 design=KF rows=12 columns=10\n"
                "enter sorrel.glassine item label=H-014 kind=pair stamps=1x2 design=KF"},
    {"revise", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 1, .most = 1,
     .options = SAYS | CLI_BIT(CLI_AS_OF), .run = cli_revise,
     .usage = "FILE RECORD name=value … | FILE RECORD --as-of N", .summary = "change fields of a record",
     .help = "The earlier value stays in the history. name= clears a field. A field on which two people "
             "differ is not "
             "changed here; 'settle' answers it. A stamp field on an item with one stamp goes to that stamp. "
             "--as-of brings the fields back to what they were in an earlier edition.",
     .example = "revise sorrel.glassine H-014 colour=blue storage='album 3' --why 'seen in daylight'"},
    {"attach", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 2, .most = MANY,
     .options = SAYS, .files = 2, .run = cli_attach, .usage = "FILE ITEM IMAGE… [side=SIDE] [name=value …]",
     .summary = "take in scans of an item",
     .help =
         "All in one save; prints the id of each scan. The fields go to every one of them. For a stamp of a "
         "multiple (H-014.2) the scan also says which stamp it shows.",
     .example = "attach sorrel.glassine H-014 front.png back.png\n"
                "attach sorrel.glassine H-014 detail.png side=detail caption='re-entry, top left'"},
    {"observe", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 1, .most = 1,
     .options = SAYS, .run = cli_observe,
     .usage = "FILE STAMP appearance=WHAT [seen=present] [x=… y=…] [name=value …]",
     .summary = "say what is seen on a stamp, or was looked for",
     .help = "x and y are thousandths of the design's width and height from its top left corner. seen= is "
             "present, "
             "absent or unclear. `glassine help observation` lists the fields.",
     .example = "observe sorrel.glassine H-014.1 appearance=dot x=62 y=911 text='left of the value'"},
    {"claim", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 1, .most = 3,
     .options = SAYS | CLI_BIT(CLI_INSTEAD_OF) | CLI_BIT(CLI_ALSO), .run = cli_claim,
     .usage = "FILE STAMP [PLATE] POSITIONS [state=…] [confidence=…] [name=value …]",
     .summary = "say from which plate positions a stamp comes",
     .help =
         "POSITIONS is one word or quoted: 41, 41-50, 'row 4', R6/3, 'column 4 but not row 2'; see 'glassine "
         "help "
         "positions'. Without PLATE the claim is about every plate of the stamp's design. Confidence is "
         "certain, "
         "probable (unless said) or possible.\n"
         "A claim is a record of its own. Where an earlier one of yours stands on that stamp, --instead-of "
         "replaces it and --also lets both stand; without either you are asked on a terminal, and elsewhere "
         "both "
         "stand. A claim is its author's opinion and no certificate.",
     .example = "claim sorrel.glassine H-014.1 1 'row 4 but not 41' confidence=certain\n"
                "claim sorrel.glassine H-014.1 1 R4/3 --instead-of --by Specialist"},
    {"withdraw", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 1, .most = 1,
     .options = SAYS, .run = cli_withdraw, .usage = "FILE CLAIM [why=REASON]",
     .summary = "take one's own claim, match, opinion or join back",
     .help = "CLAIM is its id, or a stamp on which one claim of yours stands. It stays in the history.",
     .example = "withdraw sorrel.glassine H-014.1 why='the dot is dust'"},
    {"conclude", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 1, .most = 3,
     .options = SAYS, .run = cli_conclude,
     .usage = "FILE STAMP [PLATE] POSITIONS [state=STATE] [why=REASON] [basis=A,B]",
     .summary = "say what you take as settled for now",
     .help = "A conclusion stands beside the claims and hides no dispute: both are shown.",
     .example = "conclude sorrel.glassine H-014.1 1 64 state=early why='two independent opinions'"},
    {"match", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 3, .most = 3, .options = SAYS,
     .run = cli_match,
     .usage = "FILE STAMP STAMP same|different|neighbour [down=N] [across=N] [confidence=…]",
     .summary = "say that two stamps come from one place, or from places side by side",
     .help = "Of neighbours, down= and across= say where the second stamp lies from the first. No confidence "
             "says probable; what is certain or probable binds the two in their standing.",
     .example = "match sorrel.glassine H-014 H-022 same confidence=certain\n"
                "match sorrel.glassine H-014 H-023 neighbour across=1"},
    {"join", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 2, .most = MANY,
     .options = SAYS, .run = cli_join, .usage = "FILE RECORD RECORD… [why=REASON]",
     .summary = "say that records are one and the same thing",
     .help =
         "Standings, charts, dates and rankings then treat them as one. The keeper's joins count; others' "
         "are proposals. 'withdraw' takes one's own back.",
     .example = "join sorrel.glassine plate/4fae12 plate/97b003 why='both are plate 1'"},
    {"settle", CLI_WRITING, CLI_WRITES, .bundle = true, .fields = true, .least = 1, .most = MANY,
     .options = SAYS | CLI_BIT(CLI_TAKE), .run = cli_settle,
     .usage = "FILE RECORD name=value … | FILE RECORD… --take WHO [name= …]",
     .summary = "answer a field on which people differ",
     .help =
         "The answer follows all the values that are there; each of them stays in the history. "
         "'contested' lists "
         "what is open.\n"
         "--take WHO answers with the values that this contributor gave: of the fields named with name=, or of "
         "all contested ones, in one record or several; of an item, those of its one stamp too.",
     .example = "settle sorrel.glassine H-014 colour='deep blue' --why 'compared side by side'\n"
                "settle sorrel.glassine H-014 H-015 --take Specialist"},
    {"batch", CLI_WRITING, CLI_WRITES, .bundle = true, .most = 1, .options = SAVES, .files = 1,
     .run = cli_batch, .usage = "FILE [LIST]", .summary = "many commands as one edition, all or none",
     .help =
         "LIST (else standard input) holds one command a line, without the program's name and FILE: enter, "
         "revise, "
         "attach, observe, claim, withdraw, settle, gather. If one fails, nothing is changed, and the "
         "message "
         "names its line.\n"
         "Words are separated by spaces. '…' keeps everything between as it is; \"…\" too, but \\\" and \\\\ "
         "stand for "
         "a quote and a backslash; outside of quotes a backslash keeps the character behind it. # begins a "
         "comment. A line may have its own --by and --via.",
     .example = "batch sorrel.glassine list.txt --note 'the autumn purchase'"},

    {"list", CLI_READING, CLI_READS, .bundle = true, .fields = true, .least = 1, .most = 1,
     .options = CLI_BIT(CLI_ASIDE), .run = cli_list, .usage = "FILE TYPE [name=value …]",
     .summary = "the records of a type",
     .help = "name=value takes only those whose field has this value, or has it among several; name= those "
             "where it is "
             "not said.",
     .example = "list sorrel.glassine item kind=pair\n"
                "list sorrel.glassine stamp design=KF plate_number="},
    {"show", CLI_READING, CLI_READS, .bundle = true, .least = 1, .most = 1, .options = CLI_BIT(CLI_HISTORY),
     .run = cli_show, .usage = "FILE RECORD [--history]", .summary = "all that is said on a record",
     .help = "An item comes with its stamps, scans, markings, and what people see and claim. A field on "
             "which people "
             "differ shows every value, who says so and when.",
     .example = "show sorrel.glassine H-014\n"
                "show sorrel.glassine H-014.1 --history"},
    {"contested", CLI_READING, CLI_READS, .bundle = true, .run = cli_contested, .usage = "FILE",
     .summary = "the fields on which people differ",
     .help = "Exit status 1 where there are some. 'settle' answers one.",
     .example = "contested sorrel.glassine"},
    {"editions", CLI_READING, CLI_READS, .bundle = true, .run = cli_editions, .usage = "FILE",
     .summary = "every save: when, by whom, what it brought",
     .help =
         "FILE#3 reads a bundle as it was at edition 3, and every command that only reads takes --as-of 3, or "
         "--as-of and a date: the last edition not after it. The log value of an edition, noted on paper, "
         "later shows "
         "that nothing before it was altered.",
     .example = "editions sorrel.glassine"},
    {"digest", CLI_READING, CLI_READS, .bundle = true, .run = cli_digest, .usage = "FILE",
     .summary = "the content digest, alone on a line",
     .help = "Two bundles with equal digests hold the same statements, in whatever order they arrived.",
     .example = "digest sorrel.glassine"},

    {"standing", CLI_PLATING, CLI_READS, .bundle = true, .fields = true, .most = MANY, .run = cli_standing,
     .usage = "FILE [STAMP…] [standing=S] [plate=P] [contributor=WHO]",
     .summary = "what all claims on stamps amount to",
     .help = "One line a stamp, or the stamps that are named or chosen, in full: who holds which view, what "
             "the stamp itself imposes, and which statements cannot all be true.\n"
             "unplaced: nothing binds; narrowed: several places are left; placed: one is; corroborated: two "
             "people's own views are that place, neither resting on the other; disputed: none is left.",
     .example = "standing sorrel.glassine\n"
                "standing sorrel.glassine H-014.1\n"
                "standing sorrel.glassine standing=disputed"},
    {"locate", CLI_PLATING, CLI_READS, .bundle = true, .fields = true, .least = 1, .most = 2,
     .options = CLI_BIT(CLI_WITHIN) | CLI_BIT(CLI_WITH_CLAIMS), .run = cli_locate,
     .usage = "FILE STAMP [PLATE] [--within POSITIONS] [--with-claims] [PARAMETER=N …]",
     .summary = "rank the places it may come from by the marks seen on it",
     .help =
         "Weighs what was observed on the stamp against the known marks of every place, with reasons, and "
         "says where to look next. The weights add up to 1. They are a help to the eye and no proof.\n"
         "Parameters, each described in spec/ranking.md: visibility, visibility_least, visibility_most, "
         "spread_least, together, other_appearance, no_place, stray, stray_shared, stray_least, trace, reach, "
         "silent, hasty.",
     .example = "locate sorrel.glassine H-014 1 --within 'column 4'\n"
                "locate sorrel.glassine H-014 spread_least=20"},
    {"alike", CLI_PLATING, CLI_READS, .bundle = true, .fields = true, .least = 1, .most = 1, .run = cli_alike,
     .usage = "FILE STAMP [PARAMETER=N …]", .summary = "other stamps that show the same marks",
     .help = "Placed or not, the most alike first, with the marks they share; marks that several copies show "
             "alike are constant. The parameters are those of 'locate'.",
     .example = "alike sorrel.glassine H-014"},
    {"chart", CLI_PLATING, CLI_READS, .bundle = true, .most = 1, .options = CLI_BIT(CLI_SVG),
     .run = cli_chart, .usage = "FILE [PLATE] [--svg OUT]",
     .summary = "a map of a plate: found, missing, disputed",
     .help = "With how many further copies are expected to complete the plate, if all positions survive "
             "equally.",
     .example = "chart sorrel.glassine 1\n"
                "chart sorrel.glassine 1 --svg plate-1.svg"},
    {"dates", CLI_PLATING, CLI_READS, .bundle = true, .most = 1, .run = cli_dates, .usage = "FILE [PLATE]",
     .summary = "earliest and latest dates by position, state and mark",
     .help = "What each date rests on, new earliest ones, and dates that cannot be: used before the state "
             "began.",
     .example = "dates sorrel.glassine 1"},

    {"dispatch", CLI_TOGETHER, CLI_SAVES_ITSELF, .bundle = true,
     .options = SAVES | CLI_BIT(CLI_TO) | CLI_BIT(CLI_ITEMS) | CLI_BIT(CLI_SELECTION) | CLI_BIT(CLI_OUT) |
                CLI_BIT(CLI_BLIND) | CLI_BIT(CLI_ASK) | CLI_BIT(CLI_SCANS) | CLI_BIT(CLI_SCAN_LIMIT) |
                CLI_BIT(CLI_SIZE_LIMIT) | CLI_BIT(CLI_KEEP_METADATA) | CLI_BIT(CLI_SHEET),
     .run = cli_dispatch,
     .usage = "FILE --to WHO --items A,B,… | --selection S -o OUT [--blind] [--ask TEXT]",
     .summary = "make a bundle of chosen items for somebody",
     .help =
         "It holds the items with all that belongs to them, and nothing private. --blind also leaves out "
         "claims, opinions and whatever might tell a position. A page lies in it, open-me.html, that shows "
         "everything in a browser and takes answers. Where OUT ends in /, a folder is made with the bundle, "
         "the page, and letter.txt, whose numbered questions can go into an e-mail; with --sheet also "
         "answers.csv, a row for each stamp. FILE notes what went to whom.\n"
         "Scans go with every pixel, and without the places, names and serial numbers that their files "
         "carry, "
         "unless --keep-metadata says otherwise; what cannot be cleared stays behind. --scans reduced sends "
         "copies of at most --scan-limit pixels (1600 unless said), --scans none their records only; the "
         "page "
         "has smaller copies in any case. --size-limit 20M finds the largest limit with which all that is "
         "written stays within 20,000,000 bytes, and sends reduced scans unless told otherwise. An e-mail "
         "makes files a third larger.",
     .example =
         "dispatch sorrel.glassine --to Specialist --items H-014,H-015 -o for-specialist.glassine --blind\n"
         "dispatch sorrel.glassine --to Specialist --items H-014,H-015 -o for-specialist/ --size-limit 15M "
         "--sheet"},
    {"proposed", CLI_TOGETHER, CLI_READS, .bundle = true, .run = cli_proposed, .usage = "FILE",
     .summary = "what others propose",
     .help = "To set a record aside or take it back, and to join records: the keeper alone does so, others "
             "propose it. "
             "Exit status 1 where something is proposed.",
     .example = "proposed sorrel.glassine"},
    {"adopt", CLI_TOGETHER, CLI_WRITES, .bundle = true, .least = 1, .most = MANY, .options = SAVES,
     .run = cli_adopt, .usage = "FILE PROPOSAL…", .summary = "take up what others propose",
     .help = "The keeper says the same. 'proposed' lists them; six digits of one are enough.",
     .example = "adopt sorrel.glassine 3b45f67e9ff5"},
    {"pending", CLI_TOGETHER, CLI_READS, .bundle = true, .run = cli_pending, .usage = "FILE",
     .summary = "what is out, with whom, since when",
     .help = "Exit status 1 where something is out and unanswered.", .example = "pending sorrel.glassine"},
    {"reply", CLI_TOGETHER, CLI_READS, .bundle = true, .leaves = true,
     .options = CLI_BIT(CLI_BY) | CLI_BIT(CLI_UNSIGNED) | CLI_BIT(CLI_OUT) | CLI_BIT(CLI_ANSWERS),
     .run = cli_reply, .usage = "FILE -o OUT [--answers EVENT]",
     .summary = "what was added since a dispatch, as a small bundle",
     .help = "FILE is the dispatched bundle, or your own bundle into which it was merged.",
     .example = "reply for-specialist.glassine -o answer.glassine"},
    {"merge", CLI_TOGETHER, CLI_ALONE, .bundle = true, .leaves = true, .least = 1, .most = MANY,
     .options = SAVES | CLI_BIT(CLI_PREVIEW) | CLI_BIT(CLI_ONLY) | CLI_BIT(CLI_OUT) | CLI_BIT(CLI_SKIP_BAD) |
                CLI_BIT(CLI_ANSWERS) | CLI_BIT(CLI_ON) | CLI_BIT(CLI_UNDERSTAND) |
                CLI_BIT(CLI_ACCEPT_PARTIAL),
     .files = 1, .run = cli_merge, .usage = "FILE SOURCE… [--preview] [--only TYPES] [--skip-bad] [-o OUT]",
     .summary = "take in bundles, replies, and answers as text",
     .help =
         "A SOURCE is a bundle, a reply, a folder or archive of one, or a text that answers the numbers of a "
         "letter.txt (--by WHO says whose answers they are). Nothing is overwritten: where two people differ "
         "both values stay, and the field is contested. Merging twice is the same as once. --preview tells "
         "what "
         "would come and writes nothing; -o writes into a new file and leaves FILE as it is. Exit status 1 "
         "where something is left contested, not counted or not taken.\n"
         "Answers are echoed as they are understood. Where one is not, nothing is written until --understand "
         "says how it is meant, or --accept-partial takes the others.",
     .example = "merge sorrel.glassine answer.glassine --preview\n"
                "merge sorrel.glassine answer.txt --by Specialist --preview"},
    {"diff", CLI_TOGETHER, CLI_READS, .bundle = true, .least = 1, .most = 1,
     .options = CLI_BIT(CLI_AS) | CLI_BIT(CLI_ONLY) | CLI_BIT(CLI_ITEM) | CLI_BIT(CLI_SINCE) |
                CLI_BIT(CLI_BY) | CLI_BIT(CLI_WITH_PRIVATE),
     .files = 1, .run = cli_diff,
     .usage = "A B [--only TYPES] [--item ITEM] [--since N] [--by WHO] [--as patch|csv]",
     .summary = "what one bundle has that another lacks",
     .help =
         "By item, record and field, in both directions. --by takes only what this contributor says. "
         "--as patch gives what makes the to-json document of B out of that of A (RFC 6902), --as csv a sheet. "
         "Exit status 1 where they differ.",
     .example = "diff sorrel.glassine sorrel.glassine#3\n"
                "diff sorrel.glassine#3 sorrel.glassine --item H-014 --as csv"},

    {"audit", CLI_FILE, CLI_ALONE, .bundle = true, .options = CLI_BIT(CLI_QUICK) | CLI_BIT(CLI_IMAGES),
     .run = cli_audit, .usage = "FILE [--quick | --images]", .summary = "check everything",
     .help =
         "Every byte, every statement, every signature, every scan against its digest. Each finding has the code of the "
         "rule in the "
         "specification, what it means and what helps. Exit status 1 where there are findings.",
     .example = "audit sorrel.glassine"},
    {"key", CLI_FILE, CLI_ALONE, .least = 1, .most = MANY, .files = 2,
     .options = CLI_BIT(CLI_PASSPHRASE) | CLI_BIT(CLI_CHANGE) | CLI_BIT(CLI_BY), .run = cli_key,
     .usage = "new [--passphrase] [--change] | show [FILE] | sign FILE [RECORD…]",
     .summary = "the key that you sign with",
     .help =
         "'key new' makes one and keeps it in your configuration, for you alone; from then on what you write is "
         "signed, and the first save into a bundle says whose key it is. --change keeps the old one beside it, which "
         "signs the change. 'key show' prints the public key, to be read out to others; with FILE, the keys of "
         "everybody in that bundle. 'key sign' signs what you said in FILE before you had a key: look at it first. What "
         "was said in your name since, unsigned, is signed only on the RECORDs that you name.\n"
         "The file named by GLASSINE_PASSPHRASE_FILE opens a key without asking.",
     .example = "key new --passphrase\nkey show\nkey show sorrel.glassine"},
    {"trust", CLI_FILE, CLI_WRITES, .bundle = true, .least = 2, .most = 2, .options = SAVES, .run = cli_trust,
     .usage = "FILE WHO KEY | none", .summary = "the keeper's word on somebody's key",
     .help =
         "KEY counts as WHO's, with the keys that it is changed for, and no other; none: WHO does not sign. "
         "Without such a word the key seen first counts. Ask WHO for it by another way than the file came.",
     .example = "trust sorrel.glassine Specialist "
                "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"},
    {"extract", CLI_FILE, CLI_ALONE, .bundle = true, .leaves = true,
     .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_AS_OF), .run = cli_extract,
     .usage = "FILE#N -o OUT | FILE --as-of DATE -o OUT",
     .summary = "an earlier edition as a file of its own", .help = "OUT must not exist.",
     .example = "extract 'sorrel.glassine#3' -o as-it-was.glassine\n"
                "extract sorrel.glassine --as-of 2026-03-14 -o as-it-was.glassine"},
    {"backup", CLI_FILE, CLI_READS, .bundle = true, .leaves = true, .most = 1, .files = 1,
     .options = CLI_BIT(CLI_FULL) | CLI_BIT(CLI_REPLACE), .run = cli_backup, .usage = "FILE [DESTINATION]",
     .summary = "a second file that holds the same",
     .help =
         "DESTINATION is a file or a folder, best on another disk; it is remembered, so that later calls need none, and "
         "a save tells how many editions are not there yet. What is new is appended, so a backup of a large "
         "bundle is quick, and is whole at every moment. After 'tidy' the file is copied anew, and takes the place of the old "
         "one only once it was read back.\n"
         "It is refused where the backup holds another bundle, a longer history or another one. --full compares "
         "every byte. --replace writes it anew all the same, and gives up what only the backup has.",
     .example = "backup sorrel.glassine /media/stick\nbackup sorrel.glassine\nbackup sorrel.glassine --full"},
    {"recover", CLI_FILE, CLI_ALONE, .bundle = true, .leaves = true, .most = MANY, .files = 1,
     .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_BASE) | CLI_BIT(CLI_DOUBTFUL), .run = cli_recover,
     .usage = "FILE [COPY…] -o OUT", .summary = "get everything whole out of a damaged file",
     .help =
         "FILE may be cut short, overwritten, or joined with something else. Every statement and scan that "
         "is whole goes into the new bundle OUT, and what is lost is said. Other copies of the bundle, "
         "damaged or old, may fill gaps. FILE and the copies are only read.\n"
         "What is not whole is kept in the folder OUT.damaged: scans as far as they go, and lines that "
         "nothing vouches for. --doubtful takes such lines in all the same: look at what they say first.",
     .example = "recover broken.glassine -o rescued.glassine\n"
                "recover broken.glassine old-copy.glassine -o rescued.glassine"},
    {"tidy", CLI_FILE, CLI_ALONE, .bundle = true, .leaves = true,
     .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_PARITY), .run = cli_tidy,
     .usage = "FILE [-o OUT] [--parity PERCENT]", .summary = "rewrite a grown file compactly",
     .help =
         "The statements, the editions and their log values stay the same; only what is left over from "
         "earlier "
         "saves goes. Without -o the file itself is replaced, once the new one is whole.\n"
         "--parity adds what damaged stretches can be rebuilt from by 'recover': 10 makes the file a tenth longer, and up to "
         "about a tenth of it may then go bad. It covers what is there now, and not what later saves add.",
     .example = "tidy sorrel.glassine\ntidy sorrel.glassine --parity 10"},
    {"intake", CLI_FILE, CLI_ALONE, .bundle = true, .leaves = true, .options = CLI_BIT(CLI_OUT),
     .run = cli_intake, .usage = "SOURCE -o OUT",
     .summary = "a bundle out of a folder or another program's archive",
     .help =
         "SOURCE is the folder that a bundle was unpacked to, or a zip, tar or 7z archive of it. Everything is "
         "checked as it would be in a bundle; links and whatever else is no plain file are refused. Commands "
         "that only read take such a SOURCE instead of a bundle, too.",
     .example = "intake glassine-sorrel.tar.gz -o sorrel.glassine"},
    {"unpack", CLI_FILE, CLI_ALONE, .bundle = true, .leaves = true, .least = 1, .most = 1, .files = 1,
     .run = cli_unpack, .usage = "FILE FOLDER", .summary = "write everything into a folder",
     .help = "Makes FOLDER/glassine-NAME/, NAME coming from the file's name when the bundle was made, with "
             "the scans, "
             "the statements as lines of text, and checksums that 'sha256sum -c' checks.",
     .example = "unpack sorrel.glassine ."},

    {"to-json", CLI_CONVERTING, CLI_READS, .bundle = true,
     .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_WITH_PRIVATE) | CLI_BIT(CLI_HISTORY) | CLI_BIT(CLI_LINES),
     .run = cli_to_json, .usage = "FILE [-o OUT] [--with-private] [--history] [--lines]",
     .summary = "everything as one JSON document",
     .help =
         "On standard output, or into the new file OUT. Private fields stay out unless --with-private "
         "asks for them; --history adds every statement. --lines writes a file of JSON Lines for each type "
         "of record into the folder OUT, for data bases.",
     .example = "to-json sorrel.glassine -o sorrel.json\nto-json sorrel.glassine --lines -o lines/"},
    {"from-json", CLI_CONVERTING, CLI_ALONE, .bundle = true, .leaves = true, .least = 1, .most = 1,
     .options = SAVES | CLI_BIT(CLI_WHY) | CLI_BIT(CLI_PREVIEW) | CLI_BIT(CLI_ACCEPT_PARTIAL), .files = 1,
     .run = cli_from_json, .usage = "FILE DOCUMENT [--preview] [--accept-partial]",
     .summary = "take a changed JSON document in",
     .help =
         "A document that to-json wrote: each field that was changed becomes a statement, as with from-csv. "
         "Where the document has its history, statements that FILE lacks are taken in first. Where FILE is "
         "not there, it is made of the document.",
     .example = "from-json sorrel.glassine sorrel.json --preview"},
    {"to-csv", CLI_CONVERTING, CLI_READS, .bundle = true, .leaves = true,
     .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_WITH_PRIVATE) | CLI_BIT(CLI_ASIDE) | CLI_BIT(CLI_NO_BOM) |
                CLI_BIT(CLI_FLAT),
     .run = cli_to_csv, .usage = "FILE -o FOLDER [--flat] [--with-private]",
     .summary = "a sheet for each type of record",
     .help =
         "One TYPE.csv a type, with a column id, every field, and version. No file is replaced. Private "
         "fields stay out unless --with-private asks for them.\n"
         "--flat writes one table to read instead, items.csv: an item a row, with its stamps, their standing, "
         "the claim that says most, what was concluded, and its scans. It cannot be taken in again.",
     .example = "to-csv sorrel.glassine -o sheets/\nto-csv sorrel.glassine -o to-read/ --flat"},
    {"from-csv", CLI_CONVERTING, CLI_SAVES_ITSELF, .bundle = true, .least = 1, .most = MANY,
     .options = SAVES | CLI_BIT(CLI_WHY) | CLI_BIT(CLI_PREVIEW) | CLI_BIT(CLI_ACCEPT_PARTIAL) |
                CLI_BIT(CLI_STRIKE_MISSING) | CLI_BIT(CLI_MAP) | CLI_BIT(CLI_MAP_DRAFT),
     .files = 1, .run = cli_from_csv,
     .usage = "FILE SHEET… [--map MAP | --map-draft MAP] [--preview] [--accept-partial] [--strike-missing]",
     .summary = "take changed sheets in",
     .help =
         "Sheets that to-csv wrote: each cell that was changed becomes a statement, a row without an id a "
         "new record. What others said meanwhile stays, and the field is contested. A row that is gone is "
         "told, and takes nothing away unless --strike-missing sets its record aside. Nothing is written "
         "where a row cannot be taken, unless --accept-partial leaves it out. --preview shows the "
         "statements. Exit status 1 where something is contested or not taken.\n"
         "A sheet of another program needs a map, which says what its columns are: --map-draft writes a "
         "first one, a sheet itself, for you to correct; --map takes the sheet in by it. Dates, decimals and "
         "currencies that the sheet does not settle are asked there, not guessed. A line of the map that "
         "begins with \"every row\" says what the sheet leaves unsaid, such as the design.",
     .example = "from-csv sorrel.glassine sheets/item.csv --preview\nfrom-csv sorrel.glassine sheets/*.csv\n"
                "from-csv sorrel.glassine mine.csv --map-draft mine-map.csv\n"
                "from-csv sorrel.glassine mine.csv --map mine-map.csv --preview"},
    {"to-xlsx", CLI_CONVERTING, CLI_READS, .bundle = true, .leaves = true,
     .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_WITH_PRIVATE) | CLI_BIT(CLI_ASIDE) | CLI_BIT(CLI_PICTURES),
     .run = cli_to_xlsx, .usage = "FILE -o OUT [--with-private] [--pictures]",
     .summary = "a workbook with a sheet for each type",
     .help =
         "OUT must not exist. The sheets of to-csv with real numbers, dates and lists to choose from, a "
         "chart of each plate, and what the workbook is of. --pictures puts a small picture into the row of "
         "each item. With --with-private comes an insurance list with its totals.",
     .example = "to-xlsx sorrel.glassine -o sorrel.xlsx --pictures"},
    {"from-xlsx", CLI_CONVERTING, CLI_SAVES_ITSELF, .bundle = true, .least = 1, .most = 1,
     .options = SAVES | CLI_BIT(CLI_WHY) | CLI_BIT(CLI_PREVIEW) | CLI_BIT(CLI_ACCEPT_PARTIAL) |
                CLI_BIT(CLI_STRIKE_MISSING) | CLI_BIT(CLI_MAP) | CLI_BIT(CLI_MAP_DRAFT),
     .files = 1, .run = cli_from_xlsx,
     .usage = "FILE WORKBOOK [--map MAP | --map-draft MAP] [--preview] [--accept-partial] [--strike-missing]",
     .summary = "take a changed workbook in", .help = "A workbook that to-xlsx wrote: as from-csv.",
     .example = "from-xlsx sorrel.glassine sorrel.xlsx --preview"},
    {"to-html", CLI_CONVERTING, CLI_READS, .bundle = true, .leaves = true,
     .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_SCAN_LIMIT) | CLI_BIT(CLI_SIZE_LIMIT) | CLI_BIT(CLI_TALK) |
                CLI_BIT(CLI_SCHEDULE) | CLI_BIT(CLI_HANDOVER) | CLI_BIT(CLI_SELECTION) |
                CLI_BIT(CLI_WITH_PRIVATE),
     .run = cli_to_html,
     .usage = "FILE -o OUT [--scan-limit PIXELS | --size-limit SIZE] [--talk | --schedule | --handover] "
              "[--selection S]",
     .summary = "the page that opens without the program",
     .help =
         "One HTML file that any browser opens, from a folder or an e-mail, with the pictures in it; it "
         "needs no "
         "network. Larger scans go in as smaller copies, and without what their files tell beyond the "
         "picture; --size-limit finds the largest that keep the page within a size.\n"
         "--talk shows one item a screen; --schedule lists pictures, storage places and values, and needs "
         "--with-private; --handover is what those who take over must know. --selection takes the items of a "
         "selection in their order.",
     .example = "to-html sorrel.glassine -o sorrel.html\n"
                "to-html sorrel.glassine -o values.html --schedule --with-private"},

    {"help", CLI_ABOUT, CLI_ALONE, .most = 1, .options = CLI_BIT(CLI_MAN), .run = cli_help,
     .usage = "[VERB | TYPE | TOPIC]", .summary = "this help",
     .help = "A verb, a type of record (item, claim …), or one of: types, names, values, positions.",
     .example = "help claim"},
};

static const cli_verb BARE = {"open",
                              CLI_CONVERTING,
                              CLI_READS,
                              .bundle = true,
                              .options = CLI_BIT(CLI_OUT) | CLI_BIT(CLI_SCAN_LIMIT) |
                                         CLI_BIT(CLI_SIZE_LIMIT) | CLI_BIT(CLI_TALK) | CLI_BIT(CLI_SCHEDULE) |
                                         CLI_BIT(CLI_HANDOVER) | CLI_BIT(CLI_SELECTION) |
                                         CLI_BIT(CLI_WITH_PRIVATE),
                              .run = cli_open,
                              .usage = "FILE",
                              .summary = "show it in the browser",
                              .help = "",
                              .example = "sorrel.glassine"};

enum { VERBS_COUNT = sizeof VERBS / sizeof VERBS[0] };

size_t cli_verb_count(void) {
    return VERBS_COUNT;
}

const cli_verb *cli_verb_at(size_t index) {
    return &VERBS[index];
}

bool cli_verb_leaves(const cli_verb *verb) {
    return verb->leaves || verb->mode == CLI_WRITES || verb->mode == CLI_SAVES_ITSELF;
}

const cli_verb *cli_verb_bare(void) {
    return &BARE;
}

const cli_verb *cli_verb_find(const char *name) {
    for (size_t i = 0; i < VERBS_COUNT; i++) {
        if (strcmp(VERBS[i].name, name) == 0) {
            return &VERBS[i];
        }
    }
    return NULL;
}

uint64_t cli_verb_options(const cli_verb *verb) {
    uint64_t earlier =
        verb->mode == CLI_READS ? CLI_BIT(CLI_AS_OF) : 0; /* whatever reads, reads earlier editions too */
    return verb->options | earlier | CLI_BIT(CLI_JSON) | CLI_BIT(CLI_HELP);
}

const char *cli_group_name(cli_group group) {
    static const char *const NAMES[] = {
        "entering and changing", "reading",         "plating", "working with others",
        "the file itself",       "other documents", "help"};
    return NAMES[group];
}

glassine_status cli_verb_unknown(const char *name, glassine_error *error) {
    cli_nearest nearest = cli_nearest_start(name);
    for (size_t i = 0; i < VERBS_COUNT; i++) {
        cli_nearest_try(&nearest, VERBS[i].name);
    }
    cli_line remedy = {0};
    if (nearest.best != NULL) {
        cli_line_add(&remedy, "Did you mean %s?", nearest.best);
    } else {
        cli_line_add(&remedy, "`glassine help` lists the commands");
    }
    return cli_refuse(error, NULL, remedy.text, "there is no command \"%s\"", name);
}

glassine_status cli_verb_check_words(const cli_verb *verb, size_t words, glassine_error *error) {
    if (words >= verb->least && words <= verb->most) {
        return GLASSINE_OK;
    }
    cli_line remedy = {0};
    cli_line_add(&remedy, "Usage: glassine %s %s", verb->name, verb->usage);
    return cli_refuse(error, NULL, remedy.text,
                      words < verb->least ? "%s needs more than that" : "%s takes less than that",
                      verb->name);
}
