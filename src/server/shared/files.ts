import { securityHeaders } from '../headers.ts';

/** Ports of one log server; only the browsers' one is reached from outside, through the proxy. */
export interface Ports {
  /** Services on the same host. */
  client: number;
  /** Browsers, behind the proxy. */
  browsers: number;
  /** The other nodes. */
  cluster: number;
  /** A box in a room, which hands on what it has when this server is back. */
  leaf: number;
}

export const PORTS: Ports = { client: 4222, browsers: 8443, cluster: 6222, leaf: 7422 };

export interface NodeSettings {
  name: string;
  /** Where the services and the proxy find it: loopback unless the nodes are on several hosts. */
  listen: string;
  ports: Ports;
  storeFolder: string;
  account: string;
  /** Public keys (nkeys) of the issuer of rights, of the gate's user and of its user on the system account. */
  issuer: string;
  gate: string;
  system: string;
  leaf: string;
  /** The other nodes of three, `host:port`; with what they know each other by. */
  cluster?: { listen: string; routes: string[]; password: string };
  mostDiskBytes?: number;
}

/**
 * The log server's own configuration. `sync_interval: always`: an acknowledged event is on the disk (the server's
 * default is two minutes). Nobody has standing rights but the gate: it gives each connection the few names it may use.
 */
export function serverConfig(node: NodeSettings): string {
  const { ports } = node;
  const cluster = node.cluster
    ? `
cluster {
  name: utterlog
  listen: "${node.cluster.listen}:${ports.cluster}"
  # Between hosts: put the nodes in a network of their own, or add a tls block with the hospital's certificates here.
  authorization { user: node, password: "${node.cluster.password}", timeout: 3 }
  routes: [
${node.cluster.routes.map((route) => `    "nats://node:${node.cluster!.password}@${route}"`).join('\n')}
  ]
}
`
    : '';
  return `# Written by set-up. The log server of a department's shared records.
server_name: ${node.name}
listen: "${node.listen}:${ports.client}"
max_payload: 256KB
jetstream {
  store_dir: "${node.storeFolder}"
  sync_interval: always
  max_memory_store: 256MB
  max_file_store: ${node.mostDiskBytes ?? '200GB'}
}
websocket {
  listen: "${node.listen}:${ports.browsers}"
  # The proxy in front carries the certificate; browsers reach this port through it only.
  no_tls: true
  compression: false
}
${
  node.cluster
    ? ''
    : `leafnodes {
  # A box in a room connects here. Open the port to such boxes only, and add a tls block where it leaves the host.
  listen: "${node.listen}:${ports.leaf}"
  authorization { nkey: ${node.leaf}, account: ${node.account} }
}
`
}accounts {
  ${node.account} {
    jetstream: enabled
    users: [ { nkey: ${node.gate} } ]
  }
  SYS { users: [ { nkey: ${node.system} } ] }
}
system_account: SYS
authorization {
  timeout: 5
  auth_callout {
    issuer: ${node.issuer}
    account: ${node.account}
    auth_users: [ ${node.gate}, ${node.system} ]
  }
}
${cluster}`;
}

export interface ProxySettings {
  host: string;
  appFolder: string;
  publicFolder: string;
  browsers: string[];
}

/** For Caddy: the app and the log under one origin, so that the app's policy stays as it is. */
export function proxyConfig({ host, appFolder, publicFolder, browsers }: ProxySettings): string {
  const headers = Object.entries(securityHeaders())
    .map(([name, value]) => `    ${name} "${value}"`)
    .join('\n');
  return `# Written by set-up, for Caddy 2. The certificate: the hospital's own is named here; without a name of
# files Caddy asks a public authority for one, which a name inside a hospital cannot get.
${host} {
  # tls /etc/utterlog/certificate.pem /etc/utterlog/certificate-key.pem
  handle /log {
    reverse_proxy ${browsers.join(' ')} {
      lb_policy first
      lb_try_duration 2s
      fail_duration 3s
    }
  }
  handle /shared.json {
    root * "${publicFolder}"
    header Cache-Control "no-cache"
    file_server
  }
  handle {
    root * "${appFolder}"
    file_server
  }
  header {
${headers}
  }
}
`;
}

/** Units for systemd: the log server, the gate, and nothing that runs as root. */
export function serviceUnits(options: {
  binary: string;
  configs: string[];
  home: string;
  folder: string;
  node: string;
}): Record<string, string> {
  const { binary, configs, home, folder, node } = options;
  const unit = (what: string, command: string, after: string) => `[Unit]
Description=${what}
After=${after}

[Service]
ExecStart=${command}
WorkingDirectory=${home}
Restart=always
RestartSec=1
User=utterlog
NoNewPrivileges=true
ProtectSystem=strict
ReadWritePaths=${folder}
PrivateTmp=true

[Install]
WantedBy=multi-user.target
`;
  const logs = configs.map((config, at) => {
    const name = `utterlog-log${configs.length > 1 ? `-${at + 1}` : ''}.service`;
    return [name, unit('Log of shared records', `${binary} -c ${config}`, 'network-online.target')] as const;
  });
  const gate = unit(
    'Gate of shared records',
    `${node} --import tsx ${home}/src/cli/shared.ts gate --folder ${folder}`,
    'network-online.target utterlog-log.service',
  );
  return { ...Object.fromEntries(logs), 'utterlog-gate.service': gate };
}
