BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('3');
CREATE TABLE device (
	sensor INTEGER NOT NULL, 
	told_ms BIGINT NOT NULL, 
	battery FLOAT, 
	signal FLOAT, 
	PRIMARY KEY (sensor), 
	FOREIGN KEY(sensor) REFERENCES sensor (id)
);
INSERT INTO "device" VALUES(1,1938000000001,1.25,1.25);
INSERT INTO "device" VALUES(2,1938000000002,2.25,2.25);
INSERT INTO "device" VALUES(3,1938000000003,3.25,3.25);
CREATE TABLE journal (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	at_ms BIGINT NOT NULL, 
	recorded_ms BIGINT NOT NULL, 
	kind VARCHAR NOT NULL, 
	withdraws INTEGER, 
	entry JSON NOT NULL, 
	UNIQUE (withdraws), 
	FOREIGN KEY(withdraws) REFERENCES journal (id)
);
INSERT INTO "journal" VALUES(1,1938000000001,1938000000001,'rain-read',NULL,'{"kind": "rain-read", "at": "2031-06-01T12:00:00Z", "mm": 2.5}');
INSERT INTO "journal" VALUES(2,1938000000002,1938000000002,'rain-read',NULL,'{"kind": "rain-read", "at": "2031-06-01T12:00:00Z", "mm": 2.5}');
INSERT INTO "journal" VALUES(3,1938000000003,1938000000003,'rain-read',NULL,'{"kind": "rain-read", "at": "2031-06-01T12:00:00Z", "mm": 2.5}');
CREATE TABLE ledger (
	job VARCHAR NOT NULL, 
	period_ms BIGINT NOT NULL, 
	PRIMARY KEY (job)
);
INSERT INTO "ledger" VALUES('job 1 süß',1938000000001);
INSERT INTO "ledger" VALUES('job 2 süß',1938000000002);
INSERT INTO "ledger" VALUES('job 3 süß',1938000000003);
CREATE TABLE mirror_refused (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	time_ms BIGINT NOT NULL, 
	line TEXT NOT NULL, 
	reason TEXT NOT NULL
);
INSERT INTO "mirror_refused" VALUES(1,1938000000001,'line 1 süß','reason 1 süß');
INSERT INTO "mirror_refused" VALUES(2,1938000000002,'line 2 süß','reason 2 süß');
INSERT INTO "mirror_refused" VALUES(3,1938000000003,'line 3 süß','reason 3 süß');
CREATE TABLE mirror_span (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	sensor INTEGER NOT NULL, 
	first_ms BIGINT NOT NULL, 
	last_ms BIGINT NOT NULL, 
	FOREIGN KEY(sensor) REFERENCES sensor (id)
);
INSERT INTO "mirror_span" VALUES(1,1,1938000000001,1938000000001);
INSERT INTO "mirror_span" VALUES(2,2,1938000000002,1938000000002);
INSERT INTO "mirror_span" VALUES(3,3,1938000000003,1938000000003);
CREATE TABLE mirror_state (
	id INTEGER NOT NULL, 
	journal_id INTEGER NOT NULL, 
	days_from_ms BIGINT, 
	issued_ms BIGINT NOT NULL, 
	complete_ms BIGINT NOT NULL, 
	failures INTEGER NOT NULL, 
	next_try_ms BIGINT NOT NULL, 
	lasting BOOLEAN NOT NULL, 
	reason TEXT, 
	PRIMARY KEY (id)
);
INSERT INTO "mirror_state" VALUES(1,1,1938000000001,1938000000001,1938000000001,1,1938000000001,0,'reason 1 süß');
INSERT INTO "mirror_state" VALUES(2,2,1938000000002,1938000000002,1938000000002,2,1938000000002,1,'reason 2 süß');
INSERT INTO "mirror_state" VALUES(3,3,1938000000003,1938000000003,1938000000003,3,1938000000003,0,'reason 3 süß');
CREATE TABLE notice_event (
	number INTEGER NOT NULL, 
	id VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	subject VARCHAR NOT NULL, 
	event VARCHAR NOT NULL, 
	at_ms BIGINT NOT NULL, 
	urgency VARCHAR NOT NULL, 
	severity VARCHAR NOT NULL, 
	certainty VARCHAR NOT NULL, 
	headline TEXT NOT NULL, 
	text TEXT NOT NULL, 
	figures JSON NOT NULL, 
	reason TEXT NOT NULL, 
	PRIMARY KEY (number)
);
INSERT INTO "notice_event" VALUES(1,'id 1 süß','kind 1 süß','subject 1 süß','event 1 süß',1938000000001,'urgency 1 süß','severity 1 süß','certainty 1 süß','headline 1 süß','text 1 süß','{"schema": 1, "figures": [1, null]}','reason 1 süß');
INSERT INTO "notice_event" VALUES(2,'id 2 süß','kind 2 süß','subject 2 süß','event 2 süß',1938000000002,'urgency 2 süß','severity 2 süß','certainty 2 süß','headline 2 süß','text 2 süß','{"schema": 1, "figures": [2, null]}','reason 2 süß');
INSERT INTO "notice_event" VALUES(3,'id 3 süß','kind 3 süß','subject 3 süß','event 3 süß',1938000000003,'urgency 3 süß','severity 3 süß','certainty 3 süß','headline 3 süß','text 3 süß','{"schema": 1, "figures": [3, null]}','reason 3 süß');
CREATE TABLE outbox (
	id INTEGER NOT NULL, 
	"key" VARCHAR NOT NULL, 
	"to" VARCHAR NOT NULL, 
	message BLOB NOT NULL, 
	put_ms BIGINT NOT NULL, 
	next_try_ms BIGINT NOT NULL, 
	attempts INTEGER NOT NULL, 
	last_reason TEXT, 
	delivered_ms BIGINT, 
	PRIMARY KEY (id), 
	UNIQUE ("key")
);
INSERT INTO "outbox" VALUES(1,'key 1 süß','to 1 süß',X'0100FF',1938000000001,1938000000001,1,'last_reason 1 süß',1938000000001);
INSERT INTO "outbox" VALUES(2,'key 2 süß','to 2 süß',X'0200FF',1938000000002,1938000000002,2,'last_reason 2 süß',1938000000002);
INSERT INTO "outbox" VALUES(3,'key 3 süß','to 3 süß',X'0300FF',1938000000003,1938000000003,3,'last_reason 3 süß',1938000000003);
CREATE TABLE reading (
	time_ms BIGINT NOT NULL, 
	sensor INTEGER NOT NULL, 
	value FLOAT NOT NULL, 
	flag INTEGER NOT NULL, 
	reason TEXT, 
	PRIMARY KEY (time_ms, sensor), 
	FOREIGN KEY(sensor) REFERENCES sensor (id)
)
 WITHOUT ROWID

;
INSERT INTO "reading" VALUES(1938000000001,1,1.25,1,'reason 1 süß');
INSERT INTO "reading" VALUES(1938000000002,2,2.25,2,'reason 2 süß');
INSERT INTO "reading" VALUES(1938000000003,3,3.25,3,'reason 3 süß');
CREATE TABLE refused (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	time_ms BIGINT NOT NULL, 
	topic TEXT NOT NULL, 
	payload BLOB NOT NULL, 
	reason TEXT NOT NULL
);
INSERT INTO "refused" VALUES(1,1938000000001,'topic 1 süß',X'0100FF','reason 1 süß');
INSERT INTO "refused" VALUES(2,1938000000002,'topic 2 süß',X'0200FF','reason 2 süß');
INSERT INTO "refused" VALUES(3,1938000000003,'topic 3 süß',X'0300FF','reason 3 süß');
CREATE TABLE result (
	kind VARCHAR NOT NULL, 
	issued_ms BIGINT NOT NULL, 
	document JSON NOT NULL, 
	PRIMARY KEY (kind, issued_ms)
);
INSERT INTO "result" VALUES('kind 1 süß',1938000000001,'{"schema": 1, "figures": [1, null]}');
INSERT INTO "result" VALUES('kind 2 süß',1938000000002,'{"schema": 1, "figures": [2, null]}');
INSERT INTO "result" VALUES('kind 3 süß',1938000000003,'{"schema": 1, "figures": [3, null]}');
CREATE TABLE seen_message (
	packet_id INTEGER NOT NULL, 
	digest BLOB NOT NULL, 
	number BIGINT NOT NULL, 
	PRIMARY KEY (packet_id)
);
INSERT INTO "seen_message" VALUES(1,X'0100FF',1);
INSERT INTO "seen_message" VALUES(2,X'0200FF',2);
INSERT INTO "seen_message" VALUES(3,X'0300FF',3);
CREATE TABLE sensor (
	id INTEGER NOT NULL, 
	garden VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	newest_ms BIGINT, mirrored_ms BIGINT, 
	PRIMARY KEY (id), 
	UNIQUE (garden, name)
);
INSERT INTO "sensor" VALUES(1,'garden 1 süß','name 1 süß',1938000000001,1938000000001);
INSERT INTO "sensor" VALUES(2,'garden 2 süß','name 2 süß',1938000000002,1938000000002);
INSERT INTO "sensor" VALUES(3,'garden 3 süß','name 3 süß',1938000000003,1938000000003);
CREATE TABLE tally (
	what VARCHAR NOT NULL, 
	count BIGINT NOT NULL, 
	PRIMARY KEY (what)
);
INSERT INTO "tally" VALUES('what 1 süß',1);
INSERT INTO "tally" VALUES('what 2 süß',2);
INSERT INTO "tally" VALUES('what 3 süß',3);
CREATE TRIGGER journal_refuses_update BEFORE UPDATE ON journal BEGIN SELECT RAISE(ABORT, 'the journal is append-only: withdraw an entry by another'); END;
CREATE TRIGGER journal_refuses_delete BEFORE DELETE ON journal BEGIN SELECT RAISE(ABORT, 'the journal is append-only: withdraw an entry by another'); END;
CREATE INDEX ix_notice_event_id ON notice_event (id);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('journal',3);
INSERT INTO "sqlite_sequence" VALUES('mirror_refused',3);
INSERT INTO "sqlite_sequence" VALUES('refused',3);
INSERT INTO "sqlite_sequence" VALUES('mirror_span',3);
COMMIT;
